package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertInstanceOf;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.tidemark.fhir.Complaints.assertRefused;
import static org.tidemark.fhir.Reports.answering;
import static org.tidemark.fhir.Reports.fact;
import static org.tidemark.fhir.Reports.facts;
import static org.tidemark.fhir.Reports.ours;
import static org.tidemark.fhir.Reports.pain;
import static org.tidemark.fhir.Reports.parked;
import static org.tidemark.fhir.Reports.quantity;
import static org.tidemark.fhir.Reports.read;
import static org.tidemark.fhir.Reports.report;
import static org.tidemark.fhir.Reports.value;
import static org.tidemark.fhir.Reports.with;

import java.time.OffsetDateTime;
import java.util.List;
import java.util.Optional;
import org.hl7.fhir.r4.model.BaseDateTimeType;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.InstantType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Observation.ObservationStatus;
import org.hl7.fhir.r4.model.Period;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Timing;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.EnumSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.decision.Fact;
import org.tidemark.programme.Side;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.PainScore;
import org.tidemark.quantity.Unit;

/** Clinical input that is seldom as it should be. The numbers are those of the list of cases. */
class ClinicalInputCasesTest {

  @ParameterizedTest
  @EnumSource(
      value = ObservationStatus.class,
      names = {"REGISTERED", "PRELIMINARY", "CANCELLED", "UNKNOWN", "ENTEREDINERROR"})
  void case54NothingIsComputedFromWhatIsNotFinal(ObservationStatus status) {
    Observation report = pain(value("int 7"));
    report.setStatus(status);
    assertInstanceOf(Intake.NotForUs.class, read(report));
  }

  @ParameterizedTest
  @EnumSource(
      value = ObservationStatus.class,
      names = {"FINAL", "AMENDED", "CORRECTED"})
  void case56CorrectedValuesCount(ObservationStatus status) {
    Observation report = pain(value("int 7"));
    report.setStatus(status);
    assertEquals(PainScore.of(7), fact(Fact.PainScored.class, report).pain());
  }

  @ParameterizedTest(name = "{0} at 2026-06-01T12:00+02:00")
  @ValueSource(strings = {"2026-06-02T12:00:01+02:00", "2026-06-02T10:00:01Z", "2026-12-01"})
  void case60RefusesWhatIsMoreThan24HoursAhead(String effective) {
    Observation report = ours("session");
    report.setEffective(new DateTimeType(effective));
    assertRefused(() -> read(report), "FUTURE_DATE Observation.effective");
  }

  @ParameterizedTest
  @ValueSource(strings = {"2026-06-02T12:00:00+02:00", "2026-06-02T10:00:00Z", "2026-06-02"})
  void case60TakesWhatIs24HoursAhead(String effective) {
    Observation report = ours("session");
    report.setEffective(new DateTimeType(effective));
    fact(Fact.SessionDone.class, report);
  }

  @ParameterizedTest
  @CsvSource({
    "1900-01-01T10:00:00Z, false",
    "1999-12-31T23:59:59Z, false",
    "2000-01-01T00:00:00Z, true"
  })
  void case60RefusesTheLastCentury(String effective, boolean taken) {
    Observation report = pain(value("int 7"));
    report.setEffective(new DateTimeType(effective));
    if (taken) {
      fact(Fact.PainScored.class, report);
    } else {
      assertRefused(() -> read(report), "OUT_OF_RANGE Observation.effective");
    }
  }

  @Test
  void case60ParksWhatHasNoDay() {
    Observation missing = pain(value("int 7"));
    missing.setEffective(null);
    assertEquals("Observation.effective", parked(missing).path());
    Observation month = pain(value("int 7"));
    month.setEffective(new DateTimeType("2026-05"));
    assertEquals("Observation.effective", parked(month).path());
    Observation timing = pain(value("int 7"));
    timing.setEffective(new Timing());
    assertEquals("Observation.effective", parked(timing).path());
  }

  @ParameterizedTest(name = "{0} on 2026-05-20 was at {1}")
  @CsvSource({
    "session, 2026-05-20T12:00+02:00",
    "morning, 2026-05-20T08:00+02:00",
    "baseline, 2026-05-20T00:00+02:00"
  })
  void case60ADateAloneIsADayOfTheClinic(String panel, OffsetDateTime expected) {
    Observation report =
        switch (panel) {
          case "session" -> answering(panel, "sets-done", value("int 2"));
          case "morning" -> answering(panel, "would-repeat", value("yes"));
          default -> answering(panel, "can-kneel", value("yes"));
        };
    report.setEffective(new DateTimeType("2026-05-20"));
    assertEquals(expected, facts(report).facts().get(0).at());
  }

  @Test
  void case60APainScoreWithoutATimeOfDayIsParked() {
    Observation report = pain(value("int 7"));
    report.setEffective(new DateTimeType("2026-05-20"));
    assertEquals("Observation.effective", parked(report).path());
  }

  @Test
  void case60KeepsTheOffsetThatWasSent() {
    Observation report = pain(value("int 7"));
    report.setEffective(new DateTimeType("2026-05-20T23:30:00-08:00"));
    assertEquals(
        OffsetDateTime.parse("2026-05-20T23:30:00-08:00"),
        fact(Fact.PainScored.class, report).at());
    Observation instant = pain(value("int 7"));
    instant.setEffective(new InstantType("2026-05-20T10:00:00.250+05:30"));
    assertEquals(
        OffsetDateTime.parse("2026-05-20T10:00:00.250+05:30"),
        fact(Fact.PainScored.class, instant).at());
  }

  @ParameterizedTest(name = "{0} to {1}: {2} to {3}")
  @CsvSource({
    "2026-05-20T18:00:00+02:00, 2026-05-20T18:20:00+02:00, 2026-05-20T18:00+02:00, 2026-05-20T18:20+02:00",
    "2026-05-20T18:00:00+02:00, 2026-05-20T22:00:00+02:00, 2026-05-20T18:00+02:00, 2026-05-20T22:00+02:00",
    "2026-05-20T18:00:00+02:00, , 2026-05-20T18:00+02:00, 2026-05-20T18:00+02:00",
    ", 2026-05-20T18:20:00+02:00, 2026-05-20T18:20+02:00, 2026-05-20T18:20+02:00",
  })
  void case60ASessionMayTakeAPeriod(
      String start, String end, OffsetDateTime begun, OffsetDateTime over) {
    Observation report = ours("session");
    report.setEffective(period(start, end));
    Fact.SessionDone done = fact(Fact.SessionDone.class, report);
    assertEquals(begun, done.session().start());
    assertEquals(over, done.session().end());
  }

  @ParameterizedTest
  @CsvSource({
    "2026-05-20T18:00:00+02:00, 2026-05-20T17:00:00+02:00, BUSINESS_RULE",
    "2026-05-20T18:00:00+02:00, 2026-05-20T22:00:01+02:00, OUT_OF_RANGE"
  })
  void case60RefusesAPeriodThatNoSessionTakes(String start, String end, String kind) {
    Observation report = ours("session");
    report.setEffective(period(start, end));
    assertRefused(() -> read(report), kind + " Observation.effective");
  }

  @Test
  void case60RefusesATimeWithoutAnOffset() {
    Observation report = pain(value("int 7"));
    DateTimeType local = new DateTimeType("2026-05-20T18:00:00");
    report.setEffective(local);
    assertRefused(() -> read(report), "OUT_OF_RANGE Observation.effective");
  }

  private static Period period(String start, String end) {
    Period period = new Period();
    if (start != null) {
      period.setStartElement(new DateTimeType(start));
    }
    if (end != null) {
      period.setEndElement(new DateTimeType(end));
    }
    return period;
  }

  @ParameterizedTest
  @ValueSource(strings = {"int 7", "7 {score}", "7 1", "7.0 {score}", "7 {nrs}"})
  void case61SevenIsSeven(String seven) {
    assertEquals(PainScore.of(7), fact(Fact.PainScored.class, pain(value(seven))).pain());
  }

  @ParameterizedTest
  @ValueSource(strings = {"int 0", "int 10"})
  void case61TheEndsOfTheScaleBelongToIt(String end) {
    fact(Fact.PainScored.class, pain(value(end)));
  }

  @ParameterizedTest
  @ValueSource(strings = {"int 11", "int -1", "7.5 {score}", "10.1 1", "-0.5 1"})
  void case61RefusesWhatIsNotOnTheScale(String score) {
    assertRefused(() -> read(pain(value(score))), "OUT_OF_RANGE Observation.value");
  }

  @ParameterizedTest
  @ValueSource(strings = {"text 7/10", "text 7", "code LA6113-0"})
  void case61ParksWhatAPersonHasToRead(String words) {
    assertEquals("Observation.value", parked(pain(value(words))).path());
  }

  @Test
  void case61RefusesYesForANumber() {
    assertRefused(() -> read(pain(value("yes"))), "UNSUPPORTED Observation.value");
    assertRefused(() -> read(pain(value("70 %"))), "WRONG_UNIT Observation.value.code");
  }

  private static Observation flexion(Quantity value) {
    Observation report = report(Codes.LOINC, "41347-6");
    report.setValue(value);
    return report;
  }

  @ParameterizedTest
  @CsvSource({"95, deg, 95", "1.658, rad, 94.9964", "165, deg, 165", "0, deg, 0"})
  void case62DegreesAndRadians(String number, String unit, String degrees) {
    assertEquals(
        Amount.of(degrees, Unit.DEGREE),
        fact(Fact.Measured.class, flexion(quantity(number, unit))).amount());
  }

  @ParameterizedTest
  @CsvSource({"165.1, deg", "400, deg", "-5, deg", "7, rad"})
  void case62RefusesAnglesThatNoKneeMakes(String number, String unit) {
    assertRefused(() -> read(flexion(quantity(number, unit))), "OUT_OF_RANGE Observation.value");
  }

  @ParameterizedTest
  @ValueSource(strings = {"[in_i]", "°", "degrees", "{score}"})
  void case62RefusesAnotherDimension(String unit) {
    assertRefused(() -> read(flexion(quantity("95", unit))), "WRONG_UNIT Observation.value.code");
  }

  @Test
  void case62ParksABareCodeWithoutAUnit() {
    Quantity text = new Quantity().setValue(95).setUnit("°");
    assertEquals("Observation.value.code", parked(flexion(text)).path());
    assertEquals("Observation.value.code", parked(pain(new Quantity().setValue(7))).path());
  }

  @Test
  void case62OurOwnItemNeedsItsUnit() {
    Observation report = ours("comfortable-flexion");
    report.setValue(new Quantity().setValue(95));
    assertRefused(() -> read(report), "WRONG_UNIT Observation.value.code");
  }

  @ParameterizedTest
  @CsvSource({
    "calf-girth, 38.1, cm, 15, [in_i]",
    "body-weight, 72.5748, kg, 160, [lb_av]",
    "body-weight, 72.5, kg, 72500, g",
    "body-height, 182.88, cm, 6, [ft_i]"
  })
  void case63UnitsOfTwoCountriesAreTheSame(
      String item, String number, String unit, String otherNumber, String otherUnit) {
    assertEquals(
        fact(Fact.BaselineTaken.class, answering("baseline", item, quantity(number, unit))),
        fact(
            Fact.BaselineTaken.class,
            answering("baseline", item, quantity(otherNumber, otherUnit))));
  }

  @Test
  void case65ReadsTheSideOfTheCodeAndOfTheBodySite() {
    Observation report = flexion(quantity("95", "deg"));
    assertEquals(Optional.of(Side.RIGHT), facts(report).side());
    report.setBodySite(null);
    assertEquals(Optional.of(Side.RIGHT), facts(report).side());
    report.setBodySite(Reports.knee(Codes.SNOMED_LEFT));
    assertRefused(() -> read(report), "BUSINESS_RULE Observation.bodySite");
  }

  @ParameterizedTest
  @ValueSource(strings = {"session", "morning", "baseline", "comfortable-flexion", "gap"})
  void case65ParksWhatHasNoSide(String code) {
    Observation report = ours(code);
    report.setBodySite(null);
    assertEquals("Observation.bodySite", parked(report).path());
  }

  @Test
  void case65BothKneesAreNoSide() {
    Observation report = pain(value("int 7"));
    report.setBodySite(Codes.concept(Codes.SNOMED, Codes.SNOMED_BOTH_KNEES, null));
    assertEquals("Observation.bodySite", parked(report).path());
    report.setBodySite(Reports.knee(Codes.SNOMED_LEFT));
    report.getBodySite().addCoding().setSystem(Codes.SNOMED).setCode(Codes.SNOMED_RIGHT);
    assertRefused(() -> read(report), "BUSINESS_RULE Observation.bodySite");
  }

  @Test
  void case65ThePrescriptionTellsTheSideToo() {
    Observation report = ours("session");
    report.setBodySite(null);
    report.addBasedOn(new Reference("https://records.example/fhir/ServiceRequest/9"));
    Intake.Facts facts = facts(report);
    assertEquals(Optional.empty(), facts.side());
    assertEquals(Optional.of("https://records.example/fhir/ServiceRequest/9"), facts.basedOn());
  }

  @ParameterizedTest
  @ValueSource(strings = {"home-equipment", "warning", "body-weight", "body-height"})
  void case65WhatIsAboutThePersonNeedsNoSide(String code) {
    Observation report = ours(code);
    report.setBodySite(null);
    facts(report);
  }

  @Test
  void case66ReadsPainByItsComponents() {
    Observation report = pain(null);
    with(report, Codes.REPORT_ITEM, "pain-at-rest", value("int 2"));
    with(report, Codes.REPORT_ITEM, "pain-during", value("int 6"));
    OffsetDateTime at = OffsetDateTime.parse("2026-05-20T18:00:00+02:00");
    assertEquals(
        List.of(
            new Fact.Measured(at, Reports.SOURCE, "pain-at-rest", Amount.of(2, Unit.SCORE), "", ""),
            new Fact.PainScored(at, Reports.SOURCE, PainScore.of(6))),
        facts(report).facts());
    report.setValue(value("int 3"));
    assertRefused(() -> read(report), "BUSINESS_RULE Observation.value");
  }

  @ParameterizedTest
  @ValueSource(strings = {"asked-declined", "error", "not-performed"})
  void case67NoValueIsNotZero(String reason) {
    Observation score = pain(null);
    score.setDataAbsentReason(absent(reason));
    assertTrue(facts(score).facts().isEmpty());

    Observation session = answering("session", "pain-during", null);
    session.getComponent().get(0).setDataAbsentReason(absent(reason));
    with(session, Codes.REPORT_ITEM, "pain-after", value("int 1"));
    Fact.SessionDone done = fact(Fact.SessionDone.class, session);
    assertEquals(Optional.empty(), done.session().during());
    assertEquals(Optional.of(PainScore.of(1)), done.session().after());
    assertEquals(Optional.empty(), done.session().contact());
    assertEquals(Optional.empty(), done.session().timeSeconds());
  }

  @Test
  void case67AQuantityWithoutANumberIsNotZero() {
    Observation session =
        answering(
            "session", "pain-during", new Quantity().setSystem(Codes.UCUM).setCode("{score}"));
    with(session, Codes.REPORT_ITEM, "contact", new BooleanType());
    Fact.SessionDone done = fact(Fact.SessionDone.class, session);
    assertEquals(Optional.empty(), done.session().during());
    assertEquals(Optional.empty(), done.session().contact());
  }

  @Test
  void case67AReportWithoutAnswersIsNoReport() {
    for (String panel : List.of("home-equipment", "baseline", "morning", "warning")) {
      assertTrue(facts(ours(panel)).facts().isEmpty(), panel);
    }
    Observation undone = ours("session");
    undone.setDataAbsentReason(absent("not-performed"));
    assertTrue(facts(undone).facts().isEmpty());
    fact(Fact.SessionDone.class, ours("session"));
  }

  @Test
  void case67RefusesAValueWithAReasonWhyThereIsNone() {
    Observation score = pain(value("int 7"));
    score.setDataAbsentReason(absent("error"));
    assertRefused(() -> read(score), "BUSINESS_RULE Observation.dataAbsentReason");

    Observation session = answering("session", "pain-during", value("int 7"));
    session.getComponent().get(0).setDataAbsentReason(absent("error"));
    assertRefused(() -> read(session), "BUSINESS_RULE Observation.component[0].dataAbsentReason");
  }

  private static org.hl7.fhir.r4.model.CodeableConcept absent(String reason) {
    return Codes.concept("http://terminology.hl7.org/CodeSystem/data-absent-reason", reason, null);
  }

  /**
   * LOINC 100166-8 is the flexion contracture of the knee, 100167-6 its extensor lag. Systems write
   * the same deficit as 10 or as -10; no programme reads it, so neither is ever taken for flexion.
   */
  @ParameterizedTest
  @CsvSource({"100166-8, 10", "100166-8, -10", "100167-6, 10", "100167-6, -10"})
  void case64ADeficitOfExtensionIsKeptAndNotTakenForFlexion(String loinc, String degrees) {
    Observation report = report(Codes.LOINC, loinc);
    report.setValue(quantity(degrees, "deg"));
    assertInstanceOf(Intake.NotForUs.class, read(report));
    assertRefused(() -> read(flexion(quantity("-10", "deg"))), "OUT_OF_RANGE Observation.value");
  }

  @ParameterizedTest
  @ValueSource(strings = {"99999-9", "72514-4", "8310-5"})
  void case68AnUnknownCodeIsKeptAndNotComputed(String loinc) {
    Observation report = report(Codes.LOINC, loinc);
    report.setValue(value("int 7"));
    assertInstanceOf(Intake.NotForUs.class, read(report));
  }

  @Test
  void case68ALocalCodeIsReadWhereTheMapKnowsIt() {
    Observation report = report("https://clinic.example/codes", "HR");
    report.setValue(value("int 12"));
    Fact.Measured measured = fact(Fact.Measured.class, report);
    assertEquals("heel-raises", measured.item());
    assertEquals(Amount.of(12, Unit.COUNT), measured.amount());
  }

  @Test
  void case71AWarningIsTakenFromAnyReport() {
    Observation report = answering("session", "pain-during", value("int 0"));
    with(report, Codes.WARNING, "calf-swelling", value("yes"));
    List<Fact> facts = facts(report).facts();
    assertInstanceOf(Fact.SessionDone.class, facts.get(0));
    assertInstanceOf(Fact.WarningRaised.class, facts.get(1));
    report.setBodySite(null);
    assertEquals(1, parked(report).warnings().size());
  }

  @Test
  void case71AWarningIsNeverParkedForItsTime() {
    Observation report = with(ours("warning"), Codes.WARNING, "fever", value("yes"));
    report.setEffective(null);
    assertRefused(() -> read(report), "MISSING Observation.effective");
    BaseDateTimeType issued = new InstantType("2026-05-20T19:00:00+02:00");
    report.setIssuedElement((InstantType) issued);
    assertEquals(
        OffsetDateTime.parse("2026-05-20T19:00:00+02:00"),
        fact(Fact.WarningRaised.class, report).at());
  }
}
