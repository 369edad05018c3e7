package org.tidemark.fhir;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.time.LocalDate;
import java.util.Date;
import java.util.OptionalDouble;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.MeasureReport;
import org.hl7.fhir.r4.model.MeasureReport.MeasureReportGroupComponent;
import org.hl7.fhir.r4.model.MeasureReport.MeasureReportStatus;
import org.hl7.fhir.r4.model.MeasureReport.MeasureReportType;
import org.hl7.fhir.r4.model.Period;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Reference;
import org.tidemark.trend.OutcomeFigures;
import org.tidemark.trend.OutcomeFigures.TimeToGoal;

/** Writes how the plans of a clinic have gone. */
public final class OutcomeReportWriter {
  private static final String MEASURE = Codes.BASE + "/Measure/outcomes";
  private static final String POPULATION =
      "http://terminology.hl7.org/CodeSystem/measure-population";
  private static final int DECIMALS = 4;

  private OutcomeReportWriter() {}

  /**
   * A report, without an id.
   *
   * @param period the days that it is about
   * @param since whether it is about all that was before, so that the first day is not told
   * @param organisation the clinic, as a reference
   * @param now when it is made
   */
  public static MeasureReport write(
      OutcomeFigures figures,
      OutcomeFigures.Period period,
      boolean since,
      String organisation,
      Date now) {
    MeasureReport report = new MeasureReport();
    report.setStatus(MeasureReportStatus.COMPLETE);
    report.setType(MeasureReportType.SUMMARY);
    report.setMeasure(MEASURE);
    report.setDate(now);
    report.setReporter(new Reference(organisation));
    report.setPeriod(new Period().setEndElement(day(period.through())));
    if (!since) {
      report.getPeriod().setStartElement(day(period.from()));
    }
    group(report, "flare-rate", figures.answered(), figures.flared(), figures.flareRate(), "1");
    group(
        report,
        "adherence",
        (int) Math.round(figures.asked()),
        figures.done(),
        figures.adherence(),
        "1");
    for (TimeToGoal goal : figures.goals()) {
      group(report, "time-to-goal", goal.plans(), goal.reached(), goal.medianDays(), "d")
          .addExtension(Extensions.code("goal-code", goal.goal()));
    }
    return report;
  }

  private static DateTimeType day(LocalDate day) {
    return new DateTimeType(day.toString());
  }

  private static MeasureReportGroupComponent group(
      MeasureReport report, String name, int of, int those, OptionalDouble score, String unit) {
    MeasureReportGroupComponent group = report.addGroup();
    group.setCode(new CodeableConcept().setText(name));
    group.addPopulation().setCode(population("denominator")).setCount(of);
    group.addPopulation().setCode(population("numerator")).setCount(those);
    if (score.isPresent()) {
      BigDecimal value =
          BigDecimal.valueOf(score.getAsDouble()).setScale(DECIMALS, RoundingMode.HALF_EVEN);
      group.setMeasureScore(
          new Quantity().setValue(value).setUnit(unit).setSystem(Codes.UCUM).setCode(unit));
    }
    return group;
  }

  private static CodeableConcept population(String code) {
    return Codes.concept(POPULATION, code, null);
  }
}
