package org.tidemark.fhir;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.time.Duration;
import java.time.OffsetDateTime;
import java.util.List;
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

  /** Chances below the earliest day and above the latest. */
  private static final double TAIL = Forecast.TAIL;

  private ForecastWriter() {}

  record ForecastSaid(
      String title, String plan, List<String> range, Course course, List<String> cautions) {}

  /** When the goal is reached, with chances; or why that cannot be said. */
  record Course(boolean arrives, String sentence, List<String> chances) {}

  /**
   * The forecast as of the newest reading.
   *
   * @param former the forecast as it is stored, if it is: it keeps its id
   */
  public static RiskAssessment write(
      PlanIdentity plan, RangeCourse course, Optional<RiskAssessment> former) {
    Texts texts = plan.texts();
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
    risk.setCode(new CodeableConcept().setText(texts.of("forecast.title")));
    risk.setSubject(new Reference(plan.subject()));
    risk.setOccurrence(DateTimes.dateTime(course.trend().at()));
    risk.setPerformer(new Reference(plan.engineDevice()));
    course.sources().stream()
        .map(FactSource::reference)
        .forEach(reference -> risk.addBasis(new Reference(reference)));
    risk.setText(
        NarrativePage.FORECAST.narrative(
            texts,
            new ForecastSaid(
                course.goal().goal().title(),
                PlanText.title(plan),
                RangeText.sentences(texts, course.figures()),
                course
                    .forecast()
                    .map(
                        forecast ->
                            forecast.match(
                                arrival -> arrives(texts, risk, course, arrival),
                                cannot ->
                                    cannot(texts, risk, course, texts.noForecast(cannot.reason()))))
                    .orElseGet(() -> cannot(texts, risk, course, texts.of("forecast.no-target"))),
                SafetyText.cautions(texts))));
    return risk;
  }

  /** The forecast of a range that nobody has read any more. */
  public static RiskAssessment withdraw(RiskAssessment former) {
    return former.setStatus(RiskAssessmentStatus.CANCELLED);
  }

  private static Course arrives(
      Texts texts, RiskAssessment risk, RangeCourse course, Forecast.Arrival arrival) {
    OffsetDateTime from = course.trend().at();
    OffsetDateTime earliest = after(from, arrival.earliestDays());
    OffsetDateTime median = after(from, arrival.medianDays());
    predict(texts, risk, course, TAIL, from, earliest, texts.of("forecast.tenth"));
    predict(texts, risk, course, 0.5, from, median, texts.of("forecast.half"));
    arrival
        .latestDays()
        .ifPresent(
            days ->
                predict(
                    texts,
                    risk,
                    course,
                    1 - TAIL,
                    from,
                    after(from, days),
                    texts.of("forecast.nine-tenths")));
    months(texts, risk, course, from, 3, arrival.chanceIn3Months());
    months(texts, risk, course, from, 6, arrival.chanceIn6Months());
    months(texts, risk, course, from, 12, arrival.chanceIn12Months());
    String target = goal(texts, course);
    return new Course(
        true,
        arrival.latestDays().isPresent()
            ? texts.of(
                "forecast.arrival",
                target,
                day(texts, median),
                day(texts, earliest),
                day(texts, after(from, arrival.latestDays().getAsDouble())))
            : texts.of("forecast.arrival.late", target, day(texts, median), day(texts, earliest)),
        List.of(
            within(texts, 3, arrival.chanceIn3Months()),
            within(texts, 6, arrival.chanceIn6Months()),
            within(texts, 12, arrival.chanceIn12Months())));
  }

  private static Course cannot(Texts texts, RiskAssessment risk, RangeCourse course, String why) {
    risk.addPrediction().setOutcome(outcome(texts, course)).setRationale(why);
    return new Course(false, why, List.of());
  }

  private static void months(
      Texts texts,
      RiskAssessment risk,
      RangeCourse course,
      OffsetDateTime from,
      int months,
      double chance) {
    predict(
        texts,
        risk,
        course,
        chance,
        from,
        from.plusMonths(months),
        texts.of("forecast.chance", months));
  }

  private static void predict(
      Texts texts,
      RiskAssessment risk,
      RangeCourse course,
      double chance,
      OffsetDateTime from,
      OffsetDateTime until,
      String rationale) {
    RiskAssessmentPredictionComponent prediction = risk.addPrediction();
    prediction.setOutcome(outcome(texts, course));
    prediction.setProbability(new org.hl7.fhir.r4.model.DecimalType(share(chance)));
    Period period = new Period();
    period.setStartElement(DateTimes.dateTime(from));
    period.setEndElement(DateTimes.dateTime(until));
    prediction.setWhen(period);
    prediction.setRationale(rationale);
  }

  private static CodeableConcept outcome(Texts texts, RangeCourse course) {
    return new CodeableConcept()
        .setText(
            course.goal().target().isPresent()
                ? texts.of("forecast.outcome", goal(texts, course))
                : course.goal().goal().title());
  }

  private static String goal(Texts texts, RangeCourse course) {
    return course.goal().target().map(GoalReading.Target::value).map(texts::value).orElseThrow();
  }

  /** Whole days: a forecast of hours would be a pretence. */
  private static OffsetDateTime after(OffsetDateTime from, double days) {
    return from.plus(Duration.ofDays(Math.round(days)));
  }

  private static String day(Texts texts, OffsetDateTime at) {
    return texts.day(at.toLocalDate());
  }

  private static String within(Texts texts, int months, double chance) {
    return texts.of("forecast.months", months, percent(texts, chance));
  }

  private static BigDecimal share(double chance) {
    return BigDecimal.valueOf(chance).setScale(2, RoundingMode.HALF_EVEN);
  }

  private static String percent(Texts texts, double chance) {
    return texts.of("percent", texts.number(share(chance).movePointRight(2)));
  }
}
