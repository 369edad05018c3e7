package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.DetectedIssue;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Provenance;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.ServiceRequest.ServiceRequestStatus;
import org.hl7.fhir.r4.model.Task;
import org.junit.jupiter.api.Test;

/**
 * What a decision leaves behind: who changed what, from which versions of which records, and why.
 */
@QuarkusTest
class PlanTrailTest {

  private static ServiceRequest read(String reference) {
    return PlanPerson.client()
        .read()
        .resource(ServiceRequest.class)
        .withId(new IdType(reference).getIdPart())
        .execute();
  }

  private static Provenance provenanceOf(Resource target) {
    Bundle found =
        PlanPerson.client()
            .search()
            .byUrl(
                PlanPerson.BASE
                    + "/Provenance?target="
                    + target.fhirType()
                    + "/"
                    + target.getIdElement().getIdPart())
            .returnBundle(Bundle.class)
            .execute();
    assertEquals(1, found.getEntry().size(), "one trail for one decision");
    return (Provenance) found.getEntryFirstRep().getResource();
  }

  private static ServiceRequest changed(
      Map<String, ServiceRequest> before, Map<String, ServiceRequest> after) {
    List<ServiceRequest> changed =
        after.values().stream()
            .filter(
                o ->
                    before.values().stream()
                        .noneMatch(
                            b -> b.getIdElement().getIdPart().equals(o.getIdElement().getIdPart())))
            .toList();
    assertEquals(1, changed.size(), "one thing changes at a time");
    return changed.get(0);
  }

  @Test
  void progressReplacesThePrescriptionAndTellsWhatItRestsOn() {
    PlanPerson person = PlanPerson.enrolled();
    Map<String, ServiceRequest> before = person.inForce();
    String planVersion = person.plan().getMeta().getVersionId();
    person.settled(1, 3);
    Map<String, ServiceRequest> after = person.inForce();
    ServiceRequest next = changed(before, after);
    assertEquals(1, next.getReplaces().size());
    ServiceRequest former = read(next.getReplaces().get(0).getReference());
    assertEquals(ServiceRequestStatus.COMPLETED, former.getStatus());
    assertEquals(PlanPerson.variation(former), PlanPerson.variation(next));

    CarePlan plan = person.plan();
    assertTrue(Integer.parseInt(plan.getMeta().getVersionId()) > Integer.parseInt(planVersion));
    assertTrue(
        plan.getActivity().stream()
            .noneMatch(
                a -> a.getReference().getReference().contains(former.getIdElement().getIdPart())));

    GuidanceResponse decision = person.lastDecision();
    assertEquals("progress", PlanPerson.verdict(decision));
    assertTrue(PlanPerson.reasons(decision).contains("settled"));
    Provenance trail = provenanceOf(decision);
    Set<String> targets =
        trail.getTarget().stream().map(t -> t.getReference()).collect(Collectors.toSet());
    assertTrue(
        targets.contains("ServiceRequest/" + next.getIdElement().getIdPart() + "/_history/1"));
    assertTrue(
        targets.contains(
            "ServiceRequest/"
                + former.getIdElement().getIdPart()
                + "/_history/"
                + former.getMeta().getVersionId()));
    assertTrue(
        targets.contains(
            "CarePlan/"
                + plan.getIdElement().getIdPart()
                + "/_history/"
                + plan.getMeta().getVersionId()));
    targets.forEach(PlanTrailTest::assertVersionExists);

    Set<String> sources =
        trail.getEntity().stream().map(e -> e.getWhat().getReference()).collect(Collectors.toSet());
    Set<String> reported =
        person.all(Observation.class).stream()
            .map(
                o ->
                    "Observation/"
                        + o.getIdElement().getIdPart()
                        + "/_history/"
                        + o.getMeta().getVersionId())
            .collect(Collectors.toSet());
    assertEquals(reported, sources, "exactly the versions that it rests on");
    assertEquals("Device/tidemark-engine", trail.getAgentFirstRep().getWho().getReference());
    assertEquals("Organization/clinic", trail.getAgentFirstRep().getOnBehalfOf().getReference());
  }

  private static void assertVersionExists(String versioned) {
    IdType id = new IdType(versioned);
    PlanPerson.client().read().resource(id.getResourceType()).withId(id).execute();
  }

  @Test
  void aFlareTakesTheLastStepBackAndRevokesIt() {
    PlanPerson person = PlanPerson.enrolled();
    List<String> start = person.asked();
    person.settled(1, 5);
    Map<String, ServiceRequest> harder = person.inForce();
    assertNotEquals(start, person.asked());
    person.send(person.session(6, 7, 7));
    Map<String, ServiceRequest> eased = person.inForce();
    assertEquals(start, person.asked());
    assertEquals("regress", PlanPerson.verdict(person.lastDecision()));
    assertTrue(PlanPerson.reasons(person.lastDecision()).contains("flare"));
    ServiceRequest back = changed(harder, eased);
    ServiceRequest revoked = read(back.getReplaces().get(0).getReference());
    assertEquals(ServiceRequestStatus.REVOKED, revoked.getStatus());
  }

  @Test
  void aWarningStopsEverythingUntilAClinicianHasLooked() {
    PlanPerson person = PlanPerson.enrolled();
    List<String> start = person.asked();
    person.send(person.warning(1));
    assertTrue(person.inForce().isEmpty(), "nothing is in force");
    assertEquals("withhold", PlanPerson.verdict(person.lastDecision()));
    assertTrue(PlanPerson.reasons(person.lastDecision()).contains("warning-open"));
    List<DetectedIssue> issues = person.all(DetectedIssue.class);
    assertEquals(1, issues.size());
    assertEquals(DetectedIssue.DetectedIssueSeverity.HIGH, issues.get(0).getSeverity());
    List<Task> tasks = person.open("review");
    assertEquals(1, tasks.size());
    assertEquals(
        "DetectedIssue/" + issues.get(0).getIdElement().getIdPart(),
        tasks.get(0).getFocus().getReference());

    for (int day = 2; day <= 8; day++) {
      person.send(person.session(day));
      person.send(person.morning(day));
      assertTrue(person.inForce().isEmpty(), "good reports do not lift a warning");
    }
    assertEquals(1, person.all(DetectedIssue.class).size(), "told once");

    person.amend(tasks.get(0).setStatus(Task.TaskStatus.COMPLETED));
    assertEquals(start, person.asked());
    assertTrue(PlanPerson.reasons(person.lastDecision()).contains("resumed"));
    assertTrue(person.open("review").isEmpty());
  }

  @Test
  void aSecondWarningJoinsTheFirstAndOneTaskIsOpen() {
    PlanPerson person = PlanPerson.enrolled();
    person.send(person.warning(1));
    Observation fever = person.warning(2);
    PlanPerson.answer(fever, "giving-way", false);
    PlanPerson.answer(fever, "fever", true);
    person.send(fever);
    List<Task> open = person.open("review");
    assertEquals(1, open.size(), "one Task covers everything that is open");
    assertEquals(Task.TaskPriority.STAT, open.get(0).getPriority());
    person.amend(open.get(0).setStatus(Task.TaskStatus.COMPLETED));
    assertFalse(person.inForce().isEmpty());
  }

  @Test
  void aWarningThatWasAMistakeIsTakenBackWithItsTask() {
    PlanPerson person = PlanPerson.enrolled();
    List<String> start = person.asked();
    Observation warning = person.send(person.warning(1));
    person.amend(warning.setStatus(Observation.ObservationStatus.ENTEREDINERROR));
    assertEquals(start, person.asked());
    assertTrue(person.open("review").isEmpty());
    assertTrue(
        person.all(DetectedIssue.class).stream()
            .noneMatch(i -> i.getStatus() == DetectedIssue.DetectedIssueStatus.FINAL));
    person.send(person.warning(3));
    assertTrue(person.inForce().isEmpty(), "the next one counts as ever");
    assertEquals(1, person.open("review").size());
  }

  @Test
  void case71ARedFlagAmongGoodScoresWins() {
    PlanPerson person = PlanPerson.enrolled();
    person.settled(1, 4);
    PlanPerson.transact(person.session(5), person.morning(5), person.warning(5)).statusCode(200);
    assertTrue(person.inForce().isEmpty());
    assertEquals("withhold", PlanPerson.verdict(person.lastDecision()));
  }

  @Test
  void aGoalTellsHowFarItIs() {
    PlanPerson person = PlanPerson.enrolled();
    person.send(person.range(10, 139));
    assertTrue(
        person.all(Goal.class).stream()
            .anyMatch(
                g -> "achieved".equals(g.getAchievementStatus().getCodingFirstRep().getCode())));
    person
        .all(Goal.class)
        .forEach(g -> assertEquals(person.subject, g.getSubject().getReference()));
  }

  @Test
  void theRecordOfADecisionIsNotRewritten() {
    PlanPerson person = PlanPerson.enrolled();
    GuidanceResponse decision = person.lastDecision();
    Provenance trail = provenanceOf(decision);
    for (Resource record : List.of(decision, trail)) {
      PlanPerson.put(record).statusCode(422);
      assertEquals(
          record.getMeta().getVersionId(),
          ((Resource)
                  PlanPerson.client()
                      .read()
                      .resource(record.fhirType())
                      .withId(record.getIdElement().getIdPart())
                      .execute())
              .getMeta()
              .getVersionId());
    }
  }
}
