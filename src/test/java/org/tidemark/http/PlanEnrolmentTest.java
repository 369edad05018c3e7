package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.util.List;
import java.util.Set;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Task;
import org.junit.jupiter.api.Test;

/** How a person comes on a programme: a CarePlan and a baseline, in whatever order they come. */
@QuarkusTest
class PlanEnrolmentTest {
  private static final Set<String> START =
      Set.of("bench-kneeling-sit-back", "towel-flexion-stretch");

  private static void assertStarted(PlanPerson person) {
    assertEquals(START, person.inForce().keySet());
    assertEquals("10", person.setting("towel-flexion-stretch", "towel-thickness"));
    CarePlan plan = person.plan();
    assertEquals(
        person.inForce().values().stream()
            .map(o -> "ServiceRequest/" + o.getIdElement().getIdPart())
            .collect(Collectors.toSet()),
        plan.getActivity().stream()
            .map(a -> a.getReference().getReference())
            .collect(Collectors.toSet()));
    assertEquals(person.all(Goal.class).size(), plan.getGoal().size(), "every goal is in the plan");
    assertFalse(plan.getGoal().isEmpty());
    assertTrue(plan.getText().getDivAsString().contains("towel"), "the text tells it all");
  }

  @Test
  void aBaselineBeforeTheCarePlanLeadsToAStartInTheAnswer() {
    PlanPerson person = PlanPerson.here();
    person.send(person.baseline());
    person.send(person.equipment());
    CarePlan answered = person.enrol();
    assertEquals(2, answered.getActivity().size(), "the answer shows the plan filled in");
    assertStarted(person);
    assertEquals("place", PlanPerson.verdict(person.lastDecision()));
  }

  @Test
  void aBaselineAfterTheCarePlanPlacesThePersonWhenItIsComplete() {
    PlanPerson person = PlanPerson.here();
    CarePlan answered = person.enrol();
    assertTrue(answered.getActivity().isEmpty());
    GuidanceResponse waiting = person.lastDecision();
    assertEquals(GuidanceResponse.GuidanceResponseStatus.DATAREQUIRED, waiting.getStatus());
    assertEquals(
        Set.of("comfortable-flexion", "gap", "contact", "pain-at-rest", "can-kneel"),
        missing(waiting));
    person.send(person.equipment());
    assertTrue(person.plan().getActivity().isEmpty());

    Observation partly = person.baseline();
    PlanPerson.leaveOut(partly, "can-kneel");
    person.send(partly);
    assertEquals(Set.of("can-kneel"), missing(person.lastDecision()));
    assertTrue(person.plan().getActivity().isEmpty());
    assertTrue(person.inForce().isEmpty());

    Observation rest = person.baseline();
    rest.getComponent()
        .removeIf(c -> !c.getCode().getCodingFirstRep().getCode().equals("can-kneel"));
    rest.setEffective(new org.hl7.fhir.r4.model.DateTimeType(PlanPerson.at(0, "11:40")));
    person.send(rest);
    assertStarted(person);
    assertTrue(
        person.open("review").isEmpty(), "nobody is asked to look at what has resolved itself");
  }

  private static Set<String> missing(GuidanceResponse guidance) {
    return guidance.getDataRequirement().stream()
        .flatMap(r -> r.getCodeFilter().stream())
        .flatMap(f -> f.getCode().stream())
        .map(c -> c.getCode())
        .collect(Collectors.toSet());
  }

  @Test
  void everythingInOneTransactionIsOneDecisionInAnyOrderOfEntries() {
    for (boolean planFirst : List.of(true, false)) {
      PlanPerson person = PlanPerson.here();
      if (planFirst) {
        PlanPerson.transact(person.enrolment(), person.baseline(), person.equipment())
            .statusCode(200);
      } else {
        PlanPerson.transact(person.equipment(), person.baseline(), person.enrolment())
            .statusCode(200);
      }
      assertStarted(person);
      assertEquals(1, person.all(GuidanceResponse.class).size());
    }
  }

  @Test
  void aPersonOfAnotherRecordSystemGoesFromEnrolmentToProgress() {
    PlanPerson person =
        PlanPerson.elsewhere("https://records.example/fhir/Patient/77-" + System.nanoTime());
    PlanPerson.transact(person.equipment(), person.baseline(), person.enrolment()).statusCode(200);
    assertStarted(person);
    List<String> start = person.asked();
    person.settled(1, 6);
    assertFalse(person.asked().equals(start));
    assertTrue(
        person.all(ServiceRequest.class).stream()
            .allMatch(o -> o.getSubject().getReference().equals(person.subject)));
    assertEquals(person.nextAsked(), person.asked(), "what would be decided now is what stands");
  }

  @Test
  void aDraftIsFilledInButAsksNothingUntilItIsActive() {
    PlanPerson person = PlanPerson.here();
    person.send(person.baseline());
    person.send(person.equipment());
    CarePlan draft = person.enrolment().setStatus(CarePlan.CarePlanStatus.DRAFT);
    CarePlan stored = person.send(draft);
    assertEquals(2, stored.getActivity().size());
    assertTrue(
        person.all(ServiceRequest.class).stream()
            .allMatch(o -> o.getStatus() == ServiceRequest.ServiceRequestStatus.DRAFT));
    CarePlan active = person.amend(person.plan().setStatus(CarePlan.CarePlanStatus.ACTIVE));
    assertEquals(CarePlan.CarePlanStatus.ACTIVE, active.getStatus());
    assertStarted(person);
    assertEquals(2, person.all(ServiceRequest.class).size(), "the same orders, now active");
  }

  private void refused(PlanPerson person, CarePlan plan, String code, String expression) {
    PlanPerson.post(plan)
        .statusCode(422)
        .body("resourceType", equalTo("OperationOutcome"))
        .body("issue.details.coding.flatten().code", hasItem(code))
        .body("issue.expression.flatten()", hasItem(expression));
    assertTrue(person.all(CarePlan.class).isEmpty(), "nothing is stored");
    assertTrue(person.all(Goal.class).isEmpty());
    assertTrue(person.all(GuidanceResponse.class).isEmpty());
    assertTrue(person.all(Task.class).isEmpty());
  }

  @Test
  void aPlanThatCannotBeFollowedIsRefusedAndNothingIsStored() {
    PlanPerson person = PlanPerson.here();
    String programme = "CarePlan.instantiatesCanonical[0]";
    CarePlan unknown = person.enrolment();
    unknown.setInstantiatesCanonical(
        List.of(new CanonicalType("https://tidemark.example/fhir/PlanDefinition/no-such|1.0.0")));
    refused(person, unknown, "unknown-programme", programme);

    CarePlan version = person.enrolment();
    version.setInstantiatesCanonical(
        List.of(new CanonicalType(PlanPerson.KNEE.replace("1.0.0", "9.9.9"))));
    refused(person, version, "unknown-programme", programme);

    CarePlan sideless = person.enrolment();
    sideless.getExtension().removeIf(e -> e.getUrl().endsWith("/side"));
    refused(person, sideless, "missing", "CarePlan.extension('" + PlanPerson.OURS + "side')");

    CarePlan oddSide = person.enrolment();
    oddSide.getExtensionByUrl(PlanPerson.OURS + "side").setValue(new CodeType("both"));
    refused(person, oddSide, "unsupported", "CarePlan.extension[0].value");

    CarePlan order = person.enrolment().setIntent(CarePlan.CarePlanIntent.ORDER);
    refused(person, order, "business-rule", "CarePlan.intent");

    CarePlan two = person.enrolment();
    two.addInstantiatesCanonical(
        "https://tidemark.example/fhir/PlanDefinition/standing-heel-raise|1.0.0");
    refused(person, two, "business-rule", "CarePlan.instantiatesCanonical[1]");

    CarePlan nobody = person.enrolment();
    nobody.setSubject(new Reference().setDisplay("somebody"));
    PlanPerson.post(nobody)
        .statusCode(422)
        .body("issue.expression.flatten()", hasItem("CarePlan.subject"));

    CarePlan stranger = person.enrolment();
    stranger.setSubject(new Reference("Patient/there-is-none"));
    PlanPerson.post(stranger)
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("CarePlan.subject"));
  }

  @Test
  void aSecondOpenPlanOfTheProgrammeForTheSideIsRefusedAlsoWithinOneBundle() {
    PlanPerson person = PlanPerson.enrolled();
    PlanPerson.post(person.enrolment())
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("CarePlan.instantiatesCanonical[0]"));
    assertEquals(1, person.all(CarePlan.class).size());

    PlanPerson twin = PlanPerson.here();
    PlanPerson.transact(twin.enrolment(), twin.enrolment())
        .statusCode(422)
        .body(
            "issue[0].expression[0]", equalTo("Bundle.entry[1].resource.instantiatesCanonical[0]"));
    assertTrue(twin.all(CarePlan.class).isEmpty());

    person.amend(person.plan().setStatus(CarePlan.CarePlanStatus.COMPLETED));
    person.enrol();
    assertEquals(
        2, person.all(CarePlan.class).size(), "after the first has ended, another may begin");
  }

  @Test
  void theOtherSideAndAnotherProgrammeAreOtherPlans() {
    PlanPerson person = PlanPerson.enrolled();
    CarePlan right = person.enrolment();
    right.getExtensionByUrl(PlanPerson.OURS + "side").setValue(new CodeType("right"));
    person.send(right);
    CarePlan heel = person.enrolment();
    heel.setInstantiatesCanonical(
        List.of(
            new CanonicalType(
                "https://tidemark.example/fhir/PlanDefinition/standing-heel-raise|1.0.0")));
    person.send(heel);
    assertEquals(3, person.all(CarePlan.class).size());
    List<String> before = person.asked();
    // Knee reports of the left move neither the right knee nor the heel.
    person.send(person.session(1));
    CarePlan untouched =
        person.all(CarePlan.class).stream()
            .filter(
                p ->
                    p.getExtensionByUrl(PlanPerson.OURS + "side")
                        .getValue()
                        .primitiveValue()
                        .equals("right"))
            .findFirst()
            .orElseThrow();
    assertEquals(
        "1",
        given()
                .get("/fhir/CarePlan/" + untouched.getIdElement().getIdPart())
                .jsonPath()
                .getString("meta.versionId")
                .equals("2")
            ? "1"
            : "more");
    assertEquals(before, person.asked());
  }
}
