package org.tidemark.fhir;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.time.Duration;
import java.time.OffsetDateTime;
import java.util.Optional;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Period;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.RiskAssessment;
import org.hl7.fhir.r4.model.RiskAssessment.RiskAssessmentPredictionComponent;
import org.hl7.fhir.r4.model.RiskAssessment.RiskAssessmentStatus;
import org.tidemark.decision.FactSource;
import org.tidemark.decision.GoalReading;
import org.tidemark.decision.RangeCourse;
import org.tidemark.trend.Forecast;

/**
 * Writes when a range may reach its goal, as chances with the day by which each holds; or why that
 * cannot be said. R4's {@code whenRange} is the age of the subject, so that days are a {@code
 * whenPeriod}.
 */
public final class ForecastWriter {
  /** First passage of a damped local level, by simulation. */
  public static final String METHOD = "first-passage";

  private static final String CAVEAT =
      "It goes by the readings so far and says what they allow, not what will be: pain, a pause or"
          + " a change of exercise can change it.";

  /** Chances below the earliest day and above the latest. */
  private static final double TAIL = Forecast.TAIL;

  private ForecastWriter() {}

  /**
   * The forecast as of the newest reading.
   *
   * @param former the forecast as it is stored, if it is: it keeps its id
   */
  public static RiskAssessment write(
      PlanIdentity plan, RangeCourse course, Optional<RiskAssessment> former) {
    RiskAssessment risk = new RiskAssessment();
    former.ifPresent(known -> risk.setId(known.getIdElement()));
    former.ifPresent(known -> risk.setMeta(known.getMeta()));
    risk.addExtension(Extensions.code("goal-code", course.goal().goal().code()));
    risk.addExtension(Extensions.side(plan));
    risk.setStatus(RiskAssessmentStatus.FINAL);
    risk.setBasedOn(new Reference(plan.reference()));
    risk.setMethod(
        Codes.concept(
            Codes.FORECAST_METHOD, METHOD, "First passage of a damped local level, simulated"));
    risk.setCode(new CodeableConcept().setText("Forecast of a range toward its goal"));
    risk.setSubject(new Reference(plan.subject()));
    risk.setOccurrence(DateTimes.dateTime(course.trend().at()));
    risk.setPerformer(new Reference(plan.engineDevice()));
    course.sources().stream()
        .map(FactSource::reference)
        .forEach(reference -> risk.addBasis(new Reference(reference)));
    Prose prose = new Prose().title(course.goal().goal().title());
    prose.paragraph("Forecast for: " + PlanText.title(plan) + ".");
    RangeText.sentences(course.figures()).forEach(prose::paragraph);
    course
        .forecast()
        .ifPresentOrElse(
            forecast ->
                forecast.match(
                    arrival -> arrives(risk, prose, course, arrival),
                    cannot -> cannot(risk, prose, course, cannot.reason().sentence())),
            () -> cannot(risk, prose, course, "The value to reach is not known."));
    prose.list(SafetyText.CAUTIONS);
    risk.setText(prose.narrative());
    return risk;
  }

  /** The forecast of a range that nobody has read any more. */
  public static RiskAssessment withdraw(RiskAssessment former) {
    return former.setStatus(RiskAssessmentStatus.CANCELLED);
  }

  private static RiskAssessment arrives(
      RiskAssessment risk, Prose prose, RangeCourse course, Forecast.Arrival arrival) {
    OffsetDateTime from = course.trend().at();
    OffsetDateTime earliest = after(from, arrival.earliestDays());
    OffsetDateTime median = after(from, arrival.medianDays());
    predict(risk, course, TAIL, from, earliest, "One in ten arrives earlier.");
    predict(risk, course, 0.5, from, median, "Half arrive by then.");
    arrival
        .latestDays()
        .ifPresent(
            days ->
                predict(
                    risk,
                    course,
                    1 - TAIL,
                    from,
                    after(from, days),
                    "Nine in ten arrive by then."));
    months(risk, course, from, 3, arrival.chanceIn3Months());
    months(risk, course, from, 6, arrival.chanceIn6Months());
    months(risk, course, from, 12, arrival.chanceIn12Months());
    String latest =
        arrival.latestDays().isPresent()
            ? "and " + day(after(from, arrival.latestDays().getAsDouble()))
            : "and a day more than three years ahead";
    prose.labelled(
        "Forecast:",
        "half of such courses reach "
            + goal(course)
            + " by "
            + day(median)
            + ", eight in ten between "
            + day(earliest)
            + " "
            + latest
            + ".");
    prose.list(
        java.util.List.of(
            "Within 3 months: " + percent(arrival.chanceIn3Months()),
            "Within 6 months: " + percent(arrival.chanceIn6Months()),
            "Within 12 months: " + percent(arrival.chanceIn12Months())));
    prose.paragraph(CAVEAT);
    return risk;
  }

  private static RiskAssessment cannot(
      RiskAssessment risk, Prose prose, RangeCourse course, String why) {
    risk.addPrediction().setOutcome(outcome(course)).setRationale(why);
    prose.labelled("When the goal is reached cannot be forecast.", why);
    return risk;
  }

  private static void months(
      RiskAssessment risk, RangeCourse course, OffsetDateTime from, int months, double chance) {
    predict(
        risk,
        course,
        chance,
        from,
        from.plusMonths(months),
        "Chance within " + months + " months.");
  }

  private static void predict(
      RiskAssessment risk,
      RangeCourse course,
      double chance,
      OffsetDateTime from,
      OffsetDateTime until,
      String rationale) {
    RiskAssessmentPredictionComponent prediction = risk.addPrediction();
    prediction.setOutcome(outcome(course));
    prediction.setProbability(new org.hl7.fhir.r4.model.DecimalType(share(chance)));
    Period period = new Period();
    period.setStartElement(DateTimes.dateTime(from));
    period.setEndElement(DateTimes.dateTime(until));
    prediction.setWhen(period);
    prediction.setRationale(rationale);
  }

  private static CodeableConcept outcome(RangeCourse course) {
    return new CodeableConcept()
        .setText(
            course.goal().target().isPresent()
                ? "Reaches " + goal(course)
                : course.goal().goal().title());
  }

  private static String goal(RangeCourse course) {
    return course
        .goal()
        .target()
        .map(GoalReading.Target::value)
        .map(PrescriptionText::value)
        .orElseThrow();
  }

  /** Whole days: a forecast of hours would be a pretence. */
  private static OffsetDateTime after(OffsetDateTime from, double days) {
    return from.plus(Duration.ofDays(Math.round(days)));
  }

  private static String day(OffsetDateTime at) {
    return DateTimes.day(at.toLocalDate());
  }

  private static BigDecimal share(double chance) {
    return BigDecimal.valueOf(chance).setScale(2, RoundingMode.HALF_EVEN);
  }

  private static String percent(double chance) {
    return share(chance).movePointRight(2).toPlainString() + " %";
  }
}
