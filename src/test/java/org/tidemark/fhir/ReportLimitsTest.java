package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertInstanceOf;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.tidemark.fhir.Complaints.assertRefused;
import static org.tidemark.fhir.Reports.answering;
import static org.tidemark.fhir.Reports.fact;
import static org.tidemark.fhir.Reports.facts;
import static org.tidemark.fhir.Reports.ours;
import static org.tidemark.fhir.Reports.owning;
import static org.tidemark.fhir.Reports.pain;
import static org.tidemark.fhir.Reports.quantity;
import static org.tidemark.fhir.Reports.read;
import static org.tidemark.fhir.Reports.report;
import static org.tidemark.fhir.Reports.value;
import static org.tidemark.fhir.Reports.with;

import java.util.List;
import java.util.Optional;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Range;
import org.hl7.fhir.r4.model.Reference;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.decision.Fact;
import org.tidemark.programme.Setting;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.PainScore;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.YesNo;
import org.tidemark.response.Session;

/** What a report may say: both sides of each limit, and every fault named by its element. */
class ReportLimitsTest {
  private static final String FIRST = "Observation.component[0]";

  @ParameterizedTest(name = "{0} {1}: {2} and {3} are taken, {4} and {5} are not")
  @CsvSource({
    "baseline, comfortable-flexion, 0 deg, 165 deg, -1 deg, 165.1 deg",
    "baseline, other-side-flexion, 0 deg, 165 deg, -1 deg, 166 deg",
    "baseline, gap, 0 cm, 50 cm, -0.1 cm, 50.1 cm",
    "baseline, wall-lunge-distance, 0 cm, 30 cm, -1 cm, 30.1 cm",
    "baseline, heel-to-buttock, 0 cm, 100 cm, -1 cm, 100.1 cm",
    "baseline, body-height, 100 cm, 250 cm, 99.9 cm, 251 cm",
    "baseline, body-weight, 20 kg, 350 kg, 19.9 kg, 350.1 kg",
    "baseline, calf-girth, 15 cm, 80 cm, 14.9 cm, 80.1 cm",
    "baseline, thigh-girth, 20 cm, 120 cm, 19.9 cm, 120.1 cm",
    "baseline, shank-length, 20 cm, 70 cm, 19.9 cm, 70.1 cm",
    "baseline, thigh-length, 20 cm, 70 cm, 19.9 cm, 70.1 cm",
    "baseline, carried-by-two-hands, 0 kg, 150 kg, -0.1 kg, 150.1 kg",
    "baseline, carried-by-one-hand, 0 kg, 100 kg, -0.1 kg, 100.1 kg",
    "baseline, carried-by-fingertips, 0 kg, 50 kg, -0.1 kg, 50.1 kg",
    "baseline, pain-at-rest, int 0, int 10, int -1, int 11",
    "session, pain-during, int 0, int 10, int -1, 7.5 {score}",
    "session, pain-after, int 0, int 10, int 11, 0.5 {score}",
    "morning, pain-next-morning, int 0, int 10, int 11, 9.9 {score}",
    "session, effort, 0.5 {score}, 10 {score}, 10.5 {score}, 3.3 {score}",
    "session, sets-done, int 0, int 20, int -1, int 21",
    "session, repetitions-done, int 0, int 500, int 501, 1.5 1",
    "session, time-done, 0 s, 4 h, -1 s, 14401 s",
    "session, hold-done, 0 s, 60 min, -1 s, 3601 s",
    "morning, stiffness, 0 min, 24 h, -1 min, 1441 min",
    "home-equipment, towel-roll, 0.5 cm, 60 cm, 0 cm, 60.1 cm",
    "home-equipment, book, 0.2 cm, 30 cm, 0 cm, 30.1 cm",
    "home-equipment, block, 0.2 cm, 60 cm, -1 cm, 61 cm",
    "home-equipment, dumbbell-pair, 0.1 kg, 100 kg, 0 kg, 100.1 kg",
    "home-equipment, slant-board, 1 deg, 60 deg, 0 deg, 61 deg",
    "home-equipment, stair-count, int 0, int 200, int -1, int 201",
    "home-equipment, bench, 5 cm, 120 cm, 4.9 cm, 121 cm",
    "home-equipment, stair-riser, 5 cm, 30 cm, 4.9 cm, 30.1 cm",
  })
  void takesWhatMakesSense(
      String panel, String item, String least, String most, String tooLittle, String tooMuch) {
    String system = panel.equals("home-equipment") ? Codes.EQUIPMENT_ITEM : Codes.REPORT_ITEM;
    for (String good : List.of(least, most)) {
      assertEquals(1, facts(with(ours(panel), system, item, value(good))).facts().size(), good);
    }
    for (String bad : List.of(tooLittle, tooMuch)) {
      assertRefused(
          () -> read(with(ours(panel), system, item, value(bad))),
          "OUT_OF_RANGE " + FIRST + ".value");
    }
  }

  /**
   * Risers that building codes allow: IRC R311.7.5.1 up to 7 3/4 in (196 mm), IBC 1011.5.2 4 to 7
   * in, US access standard 504.2 100 to 180 mm, Approved Document K (England, 2013) 150 to 220 mm.
   */
  @ParameterizedTest(name = "{0} {1} is {2} cm")
  @CsvSource({
    "7.75, [in_i], 19.685",
    "4, [in_i], 10.16",
    "7, [in_i], 17.78",
    "100, mm, 10",
    "180, mm, 18",
    "150, mm, 15",
    "220, mm, 22"
  })
  void takesTheRisersOfBuildingCodes(String number, String unit, String centimetres) {
    Fact.EquipmentListed listed =
        fact(Fact.EquipmentListed.class, owning("stair-riser", quantity(number, unit)));
    assertEquals(
        List.of(Amount.of(centimetres, Unit.CENTIMETRE)),
        listed.equipment().amounts("stair-riser"));
  }

  @Test
  void everyItemSaysWhyItsLimitsAreThere() {
    assertTrue(Item.all().noneMatch(item -> item.why().isBlank()));
    assertTrue(Item.all().noneMatch(item -> item.least().compareTo(item.most()) > 0));
    assertEquals(
        Item.all().map(Item::code).distinct().count(), Item.all().count(), "each code once");
  }

  @ParameterizedTest(name = "{0} in a {1} report by {2}")
  @CsvSource({
    "comfortable-flexion, baseline, yes",
    "comfortable-flexion, baseline, int 95",
    "pain-during, session, yes",
    "can-kneel, baseline, int 1",
    "can-kneel, baseline, text yes",
    "contact, session, int 1",
    "more-swollen, morning, 1 cm",
    "effusion-grade, session, int 1",
  })
  void refusesAnotherTypeOfValue(String item, String panel, String sent) {
    assertRefused(
        () -> read(answering(panel, item, value(sent))), "UNSUPPORTED " + FIRST + ".value");
  }

  @Test
  void refusesARange() {
    assertRefused(
        () -> read(answering("baseline", "gap", new Range().setLow(quantity("1", "cm")))),
        "UNSUPPORTED " + FIRST + ".value");
  }

  @ParameterizedTest(name = "a piece of {0} by {1}")
  @CsvSource({"towel-roll, yes", "towel-roll, int 5", "dumbbell-pair, no"})
  void refusesAPieceWithoutItsSize(String item, String sent) {
    assertRefused(() -> read(owning(item, value(sent))), "UNSUPPORTED " + FIRST + ".value");
  }

  @ParameterizedTest(name = "{0} by {1} is {2}")
  @CsvSource({
    "hand-support, yes, true",
    "hand-support, no, false",
    "hand-support, int 1, true",
    "hand-support, int 0, false",
    "stationary-cycle, 2 1, true",
    "bench, yes, true",
    "bench, no, false",
    "bench, 45 cm, true",
    "stair-count, 12 {step}, true"
  })
  void equipmentMayBeCountedOrAffirmed(String item, String sent, boolean owned) {
    Fact.EquipmentListed listed = fact(Fact.EquipmentListed.class, owning(item, value(sent)));
    assertEquals(owned, listed.equipment().has(item));
  }

  @ParameterizedTest(name = "{0} of {1} in a {2} report")
  @CsvSource({
    "report-item, knee-feel, baseline",
    "report-item, pain-during, morning",
    "report-item, can-kneel, session",
    "equipment-item, trampoline, home-equipment",
    "equipment-item, book, baseline",
    "warning, sneezing, warning",
    "progression-variable, step-height, baseline",
  })
  void refusesAnUnknownOrMisplacedItem(String system, String code, String panel) {
    Observation report =
        with(ours(panel), Codes.BASE + "/CodeSystem/" + system, code, value("int 1"));
    assertRefused(() -> read(report), "UNSUPPORTED " + FIRST + ".code");
  }

  @Test
  void leavesItemsOfOtherSystemsAlone() {
    Observation report = answering("baseline", "can-kneel", value("yes"));
    with(report, "urn:other", "shoe-size", value("int 43"));
    assertEquals(
        java.util.Map.of("can-kneel", YesNo.YES), fact(Fact.BaselineTaken.class, report).items());
  }

  @Test
  void readsMappedItemsInAPanel() {
    Observation report = with(ours("baseline"), Codes.LOINC, "41347-6", quantity("95", "deg"));
    assertEquals(
        Amount.of(95, Unit.DEGREE),
        fact(Fact.BaselineTaken.class, report).items().get("comfortable-flexion"));
    Observation other = with(ours("baseline"), Codes.LOINC, "41343-5", quantity("95", "deg"));
    assertRefused(() -> read(other), "BUSINESS_RULE " + FIRST + ".code");
  }

  @Test
  void tellsEveryFaultAtOnce() {
    Observation report = answering("session", "pain-during", value("int 11"));
    with(report, Codes.REPORT_ITEM, "contact", value("yes"));
    with(report, Codes.REPORT_ITEM, "time-done", quantity("60", "kg"));
    with(report, Codes.REPORT_ITEM, "mood", value("int 3"));
    assertRefused(
        () -> read(report),
        "OUT_OF_RANGE Observation.component[0].value",
        "WRONG_UNIT Observation.component[2].value.code",
        "UNSUPPORTED Observation.component[3].code");
  }

  @Test
  void namesWhatIsMissing() {
    assertRefused(
        () -> read(new Observation()),
        "MISSING Observation.subject",
        "MISSING Observation.status",
        "MISSING Observation.code");
    Observation report = ours("session");
    report.addComponent().setValue(value("int 1"));
    assertRefused(() -> read(report), "MISSING " + FIRST + ".code");
  }

  @Test
  void refusesAnAnswerGivenTwice() {
    Observation report = answering("session", "pain-during", value("int 1"));
    with(report, Codes.REPORT_ITEM, "pain-during", value("int 1"));
    assertRefused(() -> read(report), "BUSINESS_RULE Observation.component[1].code");
  }

  @Test
  void takes60ComponentsAndNotOneMore() {
    Observation report = ours("home-equipment");
    for (int i = 0; i < 60; i++) {
      with(report, Codes.EQUIPMENT_ITEM, "book", value("3 cm"));
    }
    assertEquals(60, fact(Fact.EquipmentListed.class, report).equipment().amounts("book").size());
    with(report, Codes.EQUIPMENT_ITEM, "book", value("3 cm"));
    assertRefused(() -> read(report), "OUT_OF_RANGE Observation.component");
  }

  @Test
  void refusesTwoPrescriptionsForOneReport() {
    Observation report = ours("session");
    report.addBasedOn(new Reference("CarePlan/1"));
    report.addBasedOn(new Reference("ServiceRequest/1"));
    assertEquals(Optional.of("ServiceRequest/1"), facts(report).basedOn());
    report.addBasedOn(new Reference("ServiceRequest/2"));
    assertRefused(() -> read(report), "BUSINESS_RULE Observation.basedOn[2]");
  }

  @ParameterizedTest(name = "contact {0}, gap {1}: {2}")
  @CsvSource({
    "yes, , true",
    "no, , false",
    "0 cm, , true",
    "2 cm, , false",
    ", 0 cm, true",
    ", 0.5 cm, false",
    "yes, 0 cm, true",
    "no, 3 cm, false",
    "yes, 3 cm, ",
    "no, 0 cm, ",
  })
  void contactIsAnAnswerOrAGap(String contact, String gap, Boolean reached) {
    Observation report = ours("session");
    if (contact != null) {
      with(report, Codes.REPORT_ITEM, "contact", value(contact));
    }
    if (gap != null) {
      with(report, Codes.REPORT_ITEM, "gap", value(gap));
    }
    if (reached == null) {
      assertRefused(() -> read(report), "BUSINESS_RULE Observation.component[1].value");
    } else {
      assertEquals(Optional.of(reached), fact(Fact.SessionDone.class, report).session().contact());
    }
  }

  @ParameterizedTest(name = "{0} is grade {1}")
  @CsvSource({"0, 0", "trace, 1", "1+, 2", "2+, 3", "3+, 4"})
  void effusionIsGradedByCode(String code, int grade) {
    CodeableConcept concept = Codes.concept(Codes.REPORT_ITEM, code, null);
    assertEquals(
        Optional.of(grade),
        fact(Fact.MorningAfter.class, answering("morning", "effusion-grade", concept))
            .morning()
            .effusion());
    assertEquals(
        Amount.of(grade, Unit.COUNT),
        fact(Fact.BaselineTaken.class, answering("baseline", "effusion-grade", concept))
            .items()
            .get("effusion-grade"));
  }

  @Test
  void refusesAnUnknownGradeOfEffusion() {
    CodeableConcept concept = Codes.concept(Codes.REPORT_ITEM, "4+", null);
    assertRefused(
        () -> read(answering("morning", "effusion-grade", concept)),
        "OUT_OF_RANGE " + FIRST + ".value");
  }

  @Test
  void heldRepetitionsMakeTheTimeOfASet() {
    Observation report = answering("session", "hold-done", value("30 s"));
    with(report, Codes.REPORT_ITEM, "repetitions-done", value("int 2"));
    assertEquals(Optional.of(60), fact(Fact.SessionDone.class, report).session().timeSeconds());
  }

  @Test
  void aSessionSaysItsSettings() {
    Observation report =
        with(ours("session"), Codes.PROGRESSION_VARIABLE, "step-height", value("14 [in_i]"));
    with(report, Codes.PROGRESSION_VARIABLE, "cycling-time", value("300 s"));
    with(report, Codes.PROGRESSION_VARIABLE, "hand-assist", value("code one-hand"));
    assertEquals(
        Optional.of(
            new Setting(
                java.util.Map.of(
                    "step-height", Amount.of("35.56", Unit.CENTIMETRE),
                    "cycling-time", Amount.of(5, Unit.MINUTE),
                    "hand-assist", new Grade("one-hand")))),
        facts(report).settingsDone());
    with(report, Codes.PROGRESSION_VARIABLE, "step-height", value("10 cm"));
    assertRefused(() -> read(report), "BUSINESS_RULE Observation.component[3].code");
  }

  @Test
  void bareExerciseDurationIsASessionOfASide() {
    Observation report = report(Codes.LOINC, Codes.LOINC_EXERCISE_DURATION);
    report.setValue(value("12 min"));
    Session session = fact(Fact.SessionDone.class, report).session();
    assertEquals(Optional.of(720), session.timeSeconds());
    assertEquals(Optional.<PainScore>empty(), session.during());
    report.setValue(value("5 h"));
    assertRefused(() -> read(report), "OUT_OF_RANGE Observation.value");
    report.setBodySite(null);
    assertInstanceOf(Intake.NotForUs.class, read(report));
  }

  @ParameterizedTest
  @ValueSource(strings = {"pain-during", "can-kneel", "would-repeat", "mood"})
  void refusesAloneWhatBelongsInAReport(String code) {
    assertRefused(() -> read(ours(code)), "UNSUPPORTED Observation.code");
  }

  @Test
  void refusesCodesThatDisagree() {
    Observation report = pain(value("int 7"));
    report.getCode().addCoding().setSystem(Codes.REPORT_ITEM).setCode("session");
    assertRefused(() -> read(report), "BUSINESS_RULE Observation.code");
    Observation range = report(Codes.LOINC, "41347-6");
    range.setValue(quantity("95", "deg"));
    range.getCode().addCoding().setSystem(Codes.LOINC).setCode("41343-5");
    assertRefused(() -> read(range), "BUSINESS_RULE Observation.code");
  }

  @Test
  void readsOneMeaningFromTwoCodes() {
    Observation range = report(Codes.LOINC, "41347-6");
    range.setValue(quantity("95", "deg"));
    range.getCode().addCoding().setSystem(Codes.REPORT_ITEM).setCode("comfortable-flexion");
    range.getCode().addCoding().setSystem(Codes.SNOMED).setCode("298222004");
    assertEquals("comfortable-flexion", fact(Fact.Measured.class, range).item());
  }

  @Test
  void refusesAValueBesideAPanel() {
    Observation report = ours("session");
    report.setValue(value("int 1"));
    assertRefused(() -> read(report), "UNSUPPORTED Observation.value");
  }

  @Test
  void readsMethodsOfOursAndLeavesOthersUnsaid() {
    Observation range = ours("comfortable-flexion");
    range.setValue(quantity("95", "deg"));
    assertEquals("", fact(Fact.Measured.class, range).method());
    range.setMethod(Codes.concept("urn:other", "tape", null));
    assertEquals("", fact(Fact.Measured.class, range).method());
    range.setMethod(Codes.concept(Codes.REPORT_ITEM, "phone", null));
    assertEquals("phone", fact(Fact.Measured.class, range).method());
    range.setMethod(Codes.concept(Codes.REPORT_ITEM, "guess", null));
    assertRefused(() -> read(range), "UNSUPPORTED Observation.method");
  }

  @Test
  void readsOneAnswerForEachKindOfIntake() {
    assertEquals(
        List.of("facts", "not for us", "parked"),
        List.of(pain(value("int 7")), report(Codes.LOINC, "8310-5"), pain(value("text 7/10")))
            .stream()
            .map(Reports::read)
            .map(
                intake ->
                    intake.match(facts -> "facts", notForUs -> "not for us", parked -> "parked"))
            .collect(Collectors.toList()));
  }
}
