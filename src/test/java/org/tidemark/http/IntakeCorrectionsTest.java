package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.util.ArrayList;
import java.util.Collections;
import java.util.List;
import java.util.Random;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Provenance;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/**
 * A correction, a withdrawal and a report that comes late are simply evidence: what stands is what
 * would stand had everything come right and in its order.
 */
@QuarkusTest
class IntakeCorrectionsTest {

  @Test
  void case56AnAmendedReportLeadsToWhatTheRightOneWouldHaveLedTo() {
    PlanPerson wrong = PlanPerson.enrolled();
    wrong.settled(1, 2);
    wrong.send(wrong.session(3));
    Observation slip = wrong.send(wrong.morning(3, 4));
    assertEquals("regress", PlanPerson.verdict(wrong.lastDecision()), "4 is 3 above rest");
    PlanPerson.answer(slip, "pain-next-morning", 0);
    wrong.amend(slip.setStatus(Observation.ObservationStatus.AMENDED));

    PlanPerson right = PlanPerson.enrolled();
    right.settled(1, 3);
    assertEquals(right.asked(), wrong.asked());
    assertEquals(wrong.nextAsked(), wrong.asked());
    Provenance trail = trail(wrong);
    assertTrue(
        trail.getEntity().stream()
            .anyMatch(
                e ->
                    e.getWhat()
                        .getReference()
                        .equals("Observation/" + slip.getIdElement().getIdPart() + "/_history/2")),
        "the trail names the corrected version");
  }

  private static Provenance trail(PlanPerson person) {
    return (Provenance)
        PlanPerson.client()
            .search()
            .byUrl(
                PlanPerson.BASE
                    + "/Provenance?target=GuidanceResponse/"
                    + person.lastDecision().getIdElement().getIdPart())
            .returnBundle(org.hl7.fhir.r4.model.Bundle.class)
            .execute()
            .getEntryFirstRep()
            .getResource();
  }

  @Test
  void case55AReportEnteredInErrorIsTakenOutAgain() {
    PlanPerson person = PlanPerson.enrolled();
    person.settled(1, 5);
    List<String> harder = person.asked();
    Observation flare = person.send(person.session(6, 8, 8));
    assertNotEquals(harder, person.asked());
    Observation withdrawn =
        person.amend(flare.setStatus(Observation.ObservationStatus.ENTEREDINERROR));
    assertEquals(harder, person.asked());
    String version = "Observation/" + flare.getIdElement().getIdPart() + "/_history/2";
    assertTrue(
        trail(person).getEntity().stream()
            .filter(e -> e.getRole() == Provenance.ProvenanceEntityRole.REMOVAL)
            .anyMatch(e -> e.getWhat().getReference().equals(version)),
        "the trail names what was taken back");
    person.amend(withdrawn.setStatus(Observation.ObservationStatus.FINAL));
    assertNotEquals(harder, person.asked(), "and in again");
  }

  @Test
  void aReportAboutTheWrongPersonMovesToTheRightOne() {
    PlanPerson one = PlanPerson.enrolled();
    PlanPerson other = PlanPerson.enrolled();
    Observation warning = one.send(one.warning(1));
    assertTrue(one.inForce().isEmpty());
    warning.setSubject(new Reference(other.subject));
    one.amend(warning);
    assertFalse(one.inForce().isEmpty());
    assertTrue(other.inForce().isEmpty());
  }

  @Test
  void aReportOfTheOtherSideMovesThisSideNoMore() {
    PlanPerson person = PlanPerson.enrolled();
    person.settled(1, 5);
    List<String> harder = person.asked();
    Observation flare = person.send(person.session(6, 8, 8));
    assertNotEquals(harder, person.asked());
    flare.getBodySite().getCoding().get(1).setCode("24028007").setDisplay("Right");
    person.amend(flare);
    assertEquals(harder, person.asked());
  }

  @Test
  void case57WhatComesLateCountsAsIfItHadComeInTime() {
    PlanPerson late = PlanPerson.enrolled();
    late.send(late.session(1));
    late.send(late.session(2));
    late.send(late.morning(2));
    late.send(late.session(3));
    late.send(late.morning(3));
    late.send(late.morning(1, 2));
    PlanPerson inTime = PlanPerson.enrolled();
    inTime.send(inTime.session(1));
    inTime.send(inTime.morning(1, 2));
    inTime.send(inTime.session(2));
    inTime.send(inTime.morning(2));
    inTime.send(inTime.session(3));
    inTime.send(inTime.morning(3));
    assertEquals(inTime.asked(), late.asked());
    assertEquals(
        PlanPerson.reasons(inTime.lastDecision()), PlanPerson.reasons(late.lastDecision()));
  }

  /** A week of reports, some of them bad, drawn from a seed. */
  private static List<Observation> week(PlanPerson person, Random random) {
    List<Observation> reports = new ArrayList<>();
    for (int day = 1; day <= 7; day++) {
      int luck = random.nextInt(10);
      if (luck == 0) {
        continue;
      }
      reports.add(
          luck == 1
              ? person.session(day, 2, 2)
              : luck == 2 ? person.session(day, 6, 3) : person.session(day));
      if (luck != 3) {
        reports.add(
            luck == 4
                ? person.morning(day, 2)
                : luck == 5 ? person.morning(day, 4) : person.morning(day));
      }
      if (luck == 6) {
        reports.add(person.range(day, 115));
      }
    }
    return reports;
  }

  @ParameterizedTest(name = "seed {0}")
  @ValueSource(longs = {1, 2, 3, 4, 5, 6})
  void case57AnyOrderOfArrivalLeadsToTheSamePlan(long seed) {
    PlanPerson inOrder = PlanPerson.enrolled();
    week(inOrder, new Random(seed)).forEach(inOrder::send);
    PlanPerson shuffled = PlanPerson.enrolled();
    List<Observation> reports = week(shuffled, new Random(seed));
    Collections.shuffle(reports, new Random(seed + 100));
    reports.forEach(shuffled::send);
    assertEquals(inOrder.asked(), shuffled.asked());
    assertEquals(inOrder.nextAsked(), shuffled.nextAsked());
    assertEquals(shuffled.nextAsked(), shuffled.asked());
    GuidanceResponse one = (GuidanceResponse) inOrder.next().getParameter("decision").getResource();
    GuidanceResponse other =
        (GuidanceResponse) shuffled.next().getParameter("decision").getResource();
    assertEquals(PlanPerson.verdict(one), PlanPerson.verdict(other));
    assertEquals(PlanPerson.reasons(one), PlanPerson.reasons(other));
  }

  @Test
  void case58TheSameTwiceHasOneEffectAndWritesNothing() {
    PlanPerson person = PlanPerson.enrolled();
    person.settled(1, 4);
    person.send(person.session(5));
    CarePlan plan = person.plan();
    List<String> asked = person.asked();
    int decisions = person.all(GuidanceResponse.class).size();
    int orders = person.all(ServiceRequest.class).size();
    person.send(person.session(5));
    person.send(person.session(4));
    person.send(person.morning(4));
    person.send(person.baseline());
    person.send(person.equipment());
    assertEquals(plan.getMeta().getVersionId(), person.plan().getMeta().getVersionId());
    assertEquals(decisions, person.all(GuidanceResponse.class).size());
    assertEquals(orders, person.all(ServiceRequest.class).size());
    assertEquals(asked, person.asked());
    PlanPerson.transact(person.morning(5), person.morning(5)).statusCode(200);
    assertEquals(decisions + 1, person.all(GuidanceResponse.class).size());
    assertEquals(person.nextAsked(), person.asked());
  }

  @Test
  void case73AnUnchangedUpdateDecidesNothing() {
    PlanPerson person = PlanPerson.enrolled();
    Observation session = person.send(person.session(1));
    Observation morning = person.send(person.morning(1));
    int decisions = person.all(GuidanceResponse.class).size();
    String version = person.plan().getMeta().getVersionId();
    person.amend(session);
    person.amend(morning);
    assertEquals(decisions, person.all(GuidanceResponse.class).size());
    assertEquals(version, person.plan().getMeta().getVersionId());
  }

  @Test
  void ofTwoAlikeOneMayBeTakenBackAndTheOtherStillCounts() {
    PlanPerson person = PlanPerson.enrolled();
    Observation first = person.send(person.warning(1));
    person.send(person.warning(1));
    person.amend(first.setStatus(Observation.ObservationStatus.ENTEREDINERROR));
    assertTrue(person.inForce().isEmpty(), "the other report still says so");
  }

  @Test
  void aCorrectionAfterASignOffKeepsTheClinicianWord() {
    PlanPerson person = PlanPerson.enrolled();
    ServiceRequest order = person.inForce().get("towel-flexion-stretch");
    order
        .getExtensionsByUrl(PlanPerson.OURS + "dose")
        .get(0)
        .getExtensionByUrl("sets")
        .setValue(new org.hl7.fhir.r4.model.PositiveIntType(3));
    person.amend(order);
    List<String> byHand = person.asked();
    Observation session = person.send(person.session(1));
    Observation baseline =
        person.all(Observation.class).stream()
            .filter(o -> o.getCode().getCodingFirstRep().getCode().equals("baseline"))
            .findFirst()
            .orElseThrow();
    PlanPerson.answer(baseline, "calf-girth", "41", "cm");
    person.amend(baseline.setStatus(Observation.ObservationStatus.CORRECTED));
    assertEquals(byHand, person.asked());
    PlanPerson.answer(session, "effort", 5);
    person.amend(session.setStatus(Observation.ObservationStatus.AMENDED));
    assertEquals(byHand, person.asked());
  }
}
