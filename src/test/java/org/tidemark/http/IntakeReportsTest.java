package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.math.BigDecimal;
import java.util.ArrayList;
import java.util.List;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.RiskAssessment;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Task;
import org.junit.jupiter.api.Test;

/** Reports come in, and the next read finds the plan that they lead to. */
@QuarkusTest
class IntakeReportsTest {

  @Test
  void settledDaysLeadToAHarderPrescriptionThatTheNextReadFinds() {
    PlanPerson person = PlanPerson.enrolled();
    List<String> start = person.asked();
    person.settled(1, 2);
    assertEquals(start, person.asked(), "two settled sessions are thin evidence");
    assertTrue(PlanPerson.reasons(person.lastDecision()).contains("evidence-thin"));
    person.send(person.session(3));
    assertEquals(start, person.asked(), "the morning is still out");
    person.send(person.morning(3));
    List<String> next = person.asked();
    assertNotEquals(start, next);
    assertEquals("progress", PlanPerson.verdict(person.lastDecision()));
    assertEquals(next, person.nextAsked());
  }

  @Test
  void reportsThatNameTheirPrescriptionCountForIt() {
    PlanPerson person = PlanPerson.enrolled();
    List<String> start = person.asked();
    for (int day = 1; day <= 5; day++) {
      for (ServiceRequest order : person.inForce().values()) {
        Observation session = person.session(day);
        session.addBasedOn(new Reference("ServiceRequest/" + order.getIdElement().getIdPart()));
        person.send(session);
      }
      person.send(person.morning(day));
    }
    assertNotEquals(start, person.asked());
  }

  @Test
  void absoluteAndVersionedReferencesToAPrescriptionAreTheSame() {
    PlanPerson person = PlanPerson.enrolled();
    String id = person.inForce().get("towel-flexion-stretch").getIdElement().getIdPart();
    for (String form :
        List.of(
            "ServiceRequest/" + id,
            PlanPerson.BASE + "/ServiceRequest/" + id,
            "ServiceRequest/" + id + "/_history/1")) {
      int before = person.all(GuidanceResponse.class).size();
      Observation session = person.session(1 + before);
      session.addBasedOn(new Reference(form));
      person.send(session);
      assertEquals(before + 1, person.all(GuidanceResponse.class).size(), form);
    }
  }

  @Test
  void threeHundredReportsOfOnePersonInABundleAreOneDecision() {
    PlanPerson person = PlanPerson.enrolled();
    int before = person.all(GuidanceResponse.class).size();
    List<Observation> reports = new ArrayList<>();
    for (int day = 1; day <= 150; day++) {
      reports.add(person.session(day));
      reports.add(person.morning(day));
    }
    PlanPerson.transact(reports).statusCode(200);
    assertEquals(before + 1, person.all(GuidanceResponse.class).size());
    assertEquals(person.nextAsked(), person.asked());
  }

  @Test
  void case62And63PoundsInchesRadiansAndMinutesAreWhatTheyAreInOurUnits() {
    PlanPerson metric = PlanPerson.here();
    PlanPerson imperial = PlanPerson.here();
    metric.send(metric.baseline());
    metric.send(metric.equipment());
    metric.enrol();
    Observation baseline = imperial.baseline();
    PlanPerson.answer(baseline, "gap", "3.74015748", "[in_i]");
    PlanPerson.answer(baseline, "body-weight", "194.006787", "[lb_av]");
    PlanPerson.answer(baseline, "body-height", "71.2598425", "[in_i]");
    PlanPerson.answer(baseline, "comfortable-flexion", "1.95476876", "rad");
    PlanPerson.answer(baseline, "other-side-flexion", "2.42600766", "rad");
    imperial.send(baseline);
    Observation home = imperial.equipment();
    PlanPerson.answer(home, "stair-riser", "6.2992126", "[in_i]");
    imperial.send(home);
    imperial.enrol();
    assertEquals(metric.asked(), imperial.asked());
    for (int day = 1; day <= 6; day++) {
      metric.send(metric.session(day));
      metric.send(metric.morning(day));
      Observation session = imperial.session(day);
      PlanPerson.answer(session, "time-done", "1.25", "min");
      imperial.send(session);
      imperial.send(imperial.morning(day));
    }
    assertEquals(metric.asked(), imperial.asked());
  }

  @Test
  void aRangeMeasurementMovesTheGoalThatItMeasures() {
    PlanPerson person = PlanPerson.enrolled();
    Goal before = rangeGoal(person);
    person.send(person.range(14, 126));
    Goal after = rangeGoal(person);
    assertNotEquals(before.getMeta().getVersionId(), after.getMeta().getVersionId());
    person.send(person.range(28, 139));
    assertEquals(
        "achieved", rangeGoal(person).getAchievementStatus().getCodingFirstRep().getCode());
    Observation other = person.range(29, 60);
    other.setBodySite(rightKnee());
    other.getCode().getCodingFirstRep().setCode("41347-6");
    String version = rangeGoal(person).getMeta().getVersionId();
    person.send(other);
    assertEquals(
        version, rangeGoal(person).getMeta().getVersionId(), "the other knee is another knee");
  }

  private static CodeableConcept rightKnee() {
    CodeableConcept site = new CodeableConcept();
    site.addCoding().setSystem("http://snomed.info/sct").setCode("72696002");
    site.addCoding().setSystem("http://snomed.info/sct").setCode("24028007");
    return site;
  }

  private static Goal rangeGoal(PlanPerson person) {
    return person.all(Goal.class).stream()
        .filter(g -> g.getDescription().getText().contains("personal goal"))
        .findFirst()
        .orElseThrow();
  }

  @Test
  void aBarePainScoreIsPlacedByItsTimeAndTheDecisionSaysSo() {
    PlanPerson person = PlanPerson.enrolled();
    Observation session = person.session(1);
    PlanPerson.leaveOut(session, "pain-after");
    person.send(session);
    person.send(person.painScore(PlanPerson.at(1, "19:00"), 1));
    person.send(person.painScore(PlanPerson.at(2, "07:00"), 1));
    GuidanceResponse decision = person.lastDecision();
    assertTrue(PlanPerson.reasons(decision).contains("timing-inferred"));
    assertFalse(PlanPerson.reasons(decision).contains("morning-pending"));
    person.send(person.painScore(PlanPerson.at(2, "07:05"), 9));
    assertEquals("regress", PlanPerson.verdict(person.lastDecision()));
  }

  @Test
  void case61APainScoreIsReadInEveryShapeThatSaysTheSame() {
    List<GuidanceResponse> decisions = new ArrayList<>();
    for (var value :
        List.of(
            new IntegerType(3),
            new Quantity()
                .setValue(new BigDecimal("3"))
                .setSystem("http://unitsofmeasure.org")
                .setCode("{score}"),
            new Quantity()
                .setValue(new BigDecimal("3.0"))
                .setSystem("http://unitsofmeasure.org")
                .setCode("1"))) {
      PlanPerson person = PlanPerson.enrolled();
      person.send(person.session(1));
      Observation pain = person.painScore(PlanPerson.at(2, "07:00"), 0);
      pain.setValue(value);
      person.send(pain);
      decisions.add(person.lastDecision());
    }
    assertEquals(1, decisions.stream().map(PlanPerson::reasons).distinct().count());
    assertEquals("regress", PlanPerson.verdict(decisions.get(0)), "3 is 2 above rest: a flare");
  }

  @Test
  void case65AReportWithoutASideIsStoredParkedAndMovesNothing() {
    PlanPerson person = PlanPerson.enrolled();
    int before = person.all(GuidanceResponse.class).size();
    Observation morning = person.morning(1, 9);
    morning.setBodySite(null);
    Observation stored = person.send(morning);
    assertEquals(before, person.all(GuidanceResponse.class).size());
    List<Task> tasks = person.open("sort-out");
    assertEquals(1, tasks.size());
    assertEquals(
        "Observation/" + stored.getIdElement().getIdPart(), tasks.get(0).getFocus().getReference());
    Observation mended = person.morning(1, 9);
    mended.setId(stored.getIdElement().getIdPart());
    person.amend(mended);
    assertTrue(person.open("sort-out").isEmpty(), "what was sorted out asks for nobody any more");
  }

  @Test
  void case67MissingAnswersAreNotZero() {
    PlanPerson person = PlanPerson.enrolled();
    List<String> start = person.asked();
    for (int day = 1; day <= 8; day++) {
      person.send(person.session(day));
      Observation morning = person.morning(day);
      PlanPerson.component(morning, "pain-next-morning")
          .setValue(null)
          .setDataAbsentReason(
              new CodeableConcept()
                  .addCoding(
                      PlanPerson.item("x")
                          .setSystem("http://terminology.hl7.org/CodeSystem/data-absent-reason")
                          .setCode("asked-declined")));
      person.send(morning);
    }
    assertEquals(start, person.asked());
    assertTrue(PlanPerson.reasons(person.lastDecision()).contains("morning-pending"));
  }

  @Test
  void case54WhatIsNotFinalIsStoredAndNotComputed() {
    PlanPerson person = PlanPerson.enrolled();
    int before = person.all(GuidanceResponse.class).size();
    for (var status :
        List.of(
            Observation.ObservationStatus.PRELIMINARY,
            Observation.ObservationStatus.REGISTERED,
            Observation.ObservationStatus.CANCELLED,
            Observation.ObservationStatus.UNKNOWN,
            Observation.ObservationStatus.ENTEREDINERROR)) {
      person.send(person.warning(1).setStatus(status));
    }
    assertEquals(before, person.all(GuidanceResponse.class).size());
    assertFalse(person.inForce().isEmpty());
  }

  @Test
  void case70ReportsForAPlanThatHasEndedAreKeptAndChangeNothing() {
    PlanPerson person = PlanPerson.enrolled();
    person.amend(person.plan().setStatus(CarePlan.CarePlanStatus.REVOKED));
    assertTrue(person.inForce().isEmpty());
    int before = person.all(GuidanceResponse.class).size();
    person.send(person.session(1));
    assertEquals(before, person.all(GuidanceResponse.class).size());
    assertTrue(person.inForce().isEmpty());
  }

  @Test
  void case60ADateAloneIsADayOfTheClinic() {
    PlanPerson person = PlanPerson.enrolled();
    Observation session = person.session(1);
    session.setEffective(new DateTimeType(PlanPerson.date(1)));
    person.send(session);
    Observation morning = person.morning(1);
    morning.setEffective(new DateTimeType(PlanPerson.date(2)));
    person.send(morning);
    assertFalse(PlanPerson.reasons(person.lastDecision()).contains("morning-pending"));
  }

  /** A diary of three weeks in one Bundle leads several steps up: none is taken unasked. */
  @Test
  void reportsThatComeTogetherTakeNobodySeveralStepsUp() {
    PlanPerson person = PlanPerson.enrolled();
    List<String> start = person.asked();
    List<Observation> diary = new ArrayList<>();
    for (int day = 1; day <= 21; day++) {
      diary.add(person.session(day));
      diary.add(person.morning(day));
    }
    PlanPerson.transact(diary.toArray(new Observation[0])).statusCode(200);
    assertEquals(start, person.asked());
    assertTrue(PlanPerson.reasons(person.lastDecision()).contains("several-steps"));
    assertEquals(1, person.open("approve").size());
  }

  private static Task doubt(PlanPerson person, Observation later, Observation earlier) {
    List<Task> tasks = person.open("sort-out");
    assertEquals(1, tasks.size());
    Task task = tasks.get(0);
    assertEquals("Observation/" + later.getIdElement().getIdPart(), task.getFocus().getReference());
    assertEquals(
        "Observation/" + earlier.getIdElement().getIdPart(),
        task.getReasonReference().getReference());
    assertTrue(task.getDescription().contains("different answers"), task.getDescription());
    return task;
  }

  /** The one that came later counts, and a clinician is asked which is right. */
  @Test
  void case59TwoNumbersOfOneMomentAreBothKeptAndAskedAbout() {
    PlanPerson person = PlanPerson.enrolled();
    person.send(person.session(1));
    Observation first = person.send(person.morning(1, 1));
    Observation second = person.send(person.morning(1, 9));
    assertEquals("regress", PlanPerson.verdict(person.lastDecision()));
    doubt(person, second, first);
    PlanPerson.answer(second, "pain-next-morning", 1);
    person.amend(second.setStatus(Observation.ObservationStatus.AMENDED));
    assertTrue(person.open("sort-out").isEmpty(), "they agree now");
  }

  @Test
  void case59WhatWasContradictedMayBeTakenBackInstead() {
    PlanPerson person = PlanPerson.enrolled();
    Observation first = person.send(person.range(5, 100));
    Observation second = person.send(person.range(5, 112));
    doubt(person, second, first);
    person.amend(first.setStatus(Observation.ObservationStatus.ENTEREDINERROR));
    assertTrue(person.open("sort-out").isEmpty());
  }

  /** Which of the two is another device makes no difference to that. */
  @Test
  void case58AnotherValueOfTheSameMomentCountsAndIsAskedAboutWhenTheyComeTogether() {
    PlanPerson person = PlanPerson.enrolled();
    Observation phone = person.range(5, 100);
    phone.setDevice(new Reference().setDisplay("a phone"));
    Observation watch = person.range(5, 108);
    watch.setDevice(new Reference().setDisplay("an inclinometer"));
    PlanPerson.transact(phone, phone, watch).statusCode(200);
    assertEquals(1, person.open("sort-out").size(), "the same twice says nothing new");
    assertEquals(
        3, person.all(RiskAssessment.class).get(0).getBasis().size(), "that of the baseline too");
  }

  /** Two exercises done in one sitting are two reports of one moment, and both are right. */
  @Test
  void whatAnswersOtherQuestionsContradictsNothing() {
    PlanPerson person = PlanPerson.enrolled();
    for (ServiceRequest order : person.inForce().values()) {
      Observation session = person.session(1);
      session.addBasedOn(new Reference("ServiceRequest/" + order.getIdElement().getIdPart()));
      PlanPerson.answer(session, "effort", person.all(Observation.class).size() % 5);
      person.send(session);
    }
    person.send(person.morning(1));
    person.send(person.painScore(PlanPerson.at(2, "07:00"), 1));
    assertTrue(person.open("sort-out").isEmpty());
  }
}
