package org.tidemark.http;

import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.math.BigDecimal;
import java.util.List;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.ServiceRequest.ServiceRequestIntent;
import org.hl7.fhir.r4.model.ServiceRequest.ServiceRequestStatus;
import org.hl7.fhir.r4.model.Task;
import org.junit.jupiter.api.Test;

/** A clinician answers proposals, sets exercises by hand, holds, resumes and ends plans. */
@QuarkusTest
class ClinicianActsTest {

  /** Someone whose every change waits, with one that waits. */
  private static PlanPerson waiting() {
    PlanPerson person = PlanPerson.here();
    person.send(person.baseline());
    person.send(person.equipment());
    CarePlan plan = person.enrolment();
    plan.getExtensionByUrl(PlanPerson.OURS + "change-control")
        .setValue(new CodeType("every-change"));
    person.send(plan);
    person.settled(1, 5);
    assertEquals(1, person.open("approve").size());
    return person;
  }

  private static ServiceRequest proposal(PlanPerson person) {
    return PlanPerson.client()
        .read()
        .resource(ServiceRequest.class)
        .withId(new IdType(person.open("approve").get(0).getFocus().getReference()).getIdPart())
        .execute();
  }

  @Test
  void anAcceptedProposalBecomesTheOrderBasedOnIt() {
    PlanPerson person = waiting();
    List<String> before = person.asked();
    ServiceRequest proposal = proposal(person);
    assertEquals(ServiceRequestIntent.PROPOSAL, proposal.getIntent());
    String wanted = PlanPerson.asked(proposal);
    assertFalse(before.contains(wanted));
    Task task = person.open("approve").get(0);
    person.amend(task.setStatus(Task.TaskStatus.ACCEPTED));
    assertTrue(person.asked().contains(wanted));
    ServiceRequest order =
        person.inForce().values().stream()
            .filter(o -> PlanPerson.asked(o).equals(wanted))
            .findFirst()
            .orElseThrow();
    assertEquals(
        "ServiceRequest/" + proposal.getIdElement().getIdPart(),
        order.getBasedOnFirstRep().getReference());
    assertEquals(1, order.getReplaces().size());
    assertTrue(PlanPerson.reasons(person.lastDecision()).contains("signed-off"));
    assertEquals(
        ServiceRequestStatus.COMPLETED,
        PlanPerson.client()
            .read()
            .resource(ServiceRequest.class)
            .withId(proposal.getIdElement().getIdPart())
            .execute()
            .getStatus());
    assertEquals(person.asked(), person.nextAsked());
    int decisions = person.all(GuidanceResponse.class).size();
    Task done =
        person.all(Task.class).stream()
            .filter(t -> t.getStatus() == Task.TaskStatus.ACCEPTED)
            .findFirst()
            .orElseThrow();
    person.amend(done.setStatus(Task.TaskStatus.COMPLETED));
    assertEquals(
        decisions, person.all(GuidanceResponse.class).size(), "closing it decides nothing again");
  }

  @Test
  void aRejectedProposalIsRevokedAndWhatStoodStands() {
    PlanPerson person = waiting();
    List<String> before = person.asked();
    ServiceRequest proposal = proposal(person);
    Task task = person.open("approve").get(0);
    task.setStatus(Task.TaskStatus.REJECTED)
        .setStatusReason(new CodeableConcept().setText("Too early."));
    person.amend(task);
    assertEquals(before, person.asked());
    assertTrue(PlanPerson.reasons(person.lastDecision()).contains("sign-off-refused"));
    assertEquals(
        ServiceRequestStatus.REVOKED,
        PlanPerson.client()
            .read()
            .resource(ServiceRequest.class)
            .withId(proposal.getIdElement().getIdPart())
            .execute()
            .getStatus());
    assertTrue(person.open("approve").isEmpty());
    person.settled(6, 7);
    assertEquals(before, person.asked());
    assertTrue(person.open("approve").isEmpty(), "the same change needs more evidence now");
    assertEquals(
        "Too early.",
        person.all(Task.class).stream()
            .filter(t -> t.getStatus() == Task.TaskStatus.REJECTED)
            .findFirst()
            .orElseThrow()
            .getStatusReason()
            .getText());
  }

  @Test
  void aProposalThatWasWithdrawnCannotBeAcceptedAnyMore() {
    PlanPerson person = waiting();
    Task task = person.open("approve").get(0);
    person.send(person.session(6, 8, 8));
    List<String> eased = person.asked();
    assertTrue(person.open("approve").isEmpty());
    for (Task.TaskStatus status : List.of(Task.TaskStatus.ACCEPTED, Task.TaskStatus.COMPLETED)) {
      PlanPerson.put(task.copy().setStatus(status))
          .statusCode(422)
          .body("issue[0].expression[0]", equalTo("Task.status"));
    }
    assertEquals(eased, person.asked());
  }

  @Test
  void anAnswerThatLeavesOutThePersonOrTheFocusIsRefusedNotLost() {
    PlanPerson person = waiting();
    Task task = person.open("approve").get(0);
    Task without = task.copy().setStatus(Task.TaskStatus.ACCEPTED);
    without.setFor(null);
    PlanPerson.put(without).statusCode(422).body("issue[0].expression[0]", equalTo("Task.for"));
    Task unfocused = task.copy().setStatus(Task.TaskStatus.ACCEPTED);
    unfocused.setFocus(null);
    PlanPerson.put(unfocused).statusCode(422).body("issue[0].expression[0]", equalTo("Task.focus"));
    Task absolute = task.copy().setStatus(Task.TaskStatus.ACCEPTED);
    absolute.setFocus(new Reference(PlanPerson.BASE + "/" + task.getFocus().getReference()));
    absolute.setFor(new Reference(PlanPerson.BASE + "/" + task.getFor().getReference()));
    PlanPerson.put(absolute).statusCode(200);
    assertTrue(PlanPerson.reasons(person.lastDecision()).contains("signed-off"));
  }

  private static void set(ServiceRequest order, String variable, String value, String unit) {
    order.getExtensionsByUrl(PlanPerson.OURS + "setting").stream()
        .filter(s -> s.getExtensionByUrl("variable").getValue().primitiveValue().equals(variable))
        .forEach(
            s ->
                s.getExtensionByUrl("value")
                    .setValue(
                        new Quantity()
                            .setValue(new BigDecimal(value))
                            .setUnit(unit)
                            .setSystem("http://unitsofmeasure.org")
                            .setCode(unit)));
  }

  @Test
  void case75ASettingByHandStandsAndTheServiceGoesOnFromThere() {
    PlanPerson person = PlanPerson.enrolled();
    ServiceRequest order = person.inForce().get("towel-flexion-stretch");
    set(order, "towel-thickness", "5", "cm");
    ServiceRequest stored = person.amend(order);
    assertEquals("5", PlanPerson.setting(stored, "towel-thickness"));
    assertEquals("5", person.setting("towel-flexion-stretch", "towel-thickness"));
    assertTrue(PlanPerson.reasons(person.lastDecision()).contains("clinician-override"));
    assertTrue(
        stored.getPatientInstruction().contains("5 cm")
            && !stored.getPatientInstruction().contains("10 cm"),
        "the words say what the setting says: " + stored.getPatientInstruction());
    assertTrue(stored.getText().getDivAsString().contains("5 cm"));
    assertFalse(stored.getText().getDivAsString().contains("10 cm"));
    assertTrue(person.plan().getText().getDivAsString().contains("by hand"));
    person.send(person.session(1));
    person.send(person.morning(1));
    assertEquals(
        "5", person.setting("towel-flexion-stretch", "towel-thickness"), "it is not set back");
    person.settled(2, 12);
    assertEquals(person.asked(), person.nextAsked());
    assertNotEquals("10", person.setting("towel-flexion-stretch", "towel-thickness"));
    assertEquals(
        stored.getIdElement().getIdPart(),
        person.all(ServiceRequest.class).stream()
            .filter(o -> o.getIdElement().getIdPart().equals(stored.getIdElement().getIdPart()))
            .findFirst()
            .orElseThrow()
            .getIdElement()
            .getIdPart());
  }

  @Test
  void wordsThatAClinicianWroteStay() {
    PlanPerson person = PlanPerson.enrolled();
    ServiceRequest order = person.inForce().get("towel-flexion-stretch");
    set(order, "towel-thickness", "5", "cm");
    order.setPatientInstruction("Thin roll, gently.");
    assertEquals("Thin roll, gently.", person.amend(order).getPatientInstruction());
    int decisions = person.all(GuidanceResponse.class).size();
    ServiceRequest noted = person.inForce().get("towel-flexion-stretch");
    noted.addNote().setText("Discussed by phone.");
    person.amend(noted);
    assertEquals(
        decisions, person.all(GuidanceResponse.class).size(), "a note changes no prescription");
  }

  @Test
  void anOverrideOutsideAPrecautionOrTheProgrammeIsRefused() {
    PlanPerson person = PlanPerson.enrolled();
    person.send(person.limit("towel-thickness", "least", new BigDecimal("8"), "cm"));
    ServiceRequest order = person.inForce().get("towel-flexion-stretch");
    String version = order.getMeta().getVersionId();
    ServiceRequest tooThin = order.copy();
    set(tooThin, "towel-thickness", "5", "cm");
    PlanPerson.put(tooThin)
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("business-rule"))
        .body("issue[0].diagnostics", org.hamcrest.Matchers.containsString("surgeon"));
    ServiceRequest wrongUnit = order.copy();
    set(wrongUnit, "towel-thickness", "5", "kg");
    PlanPerson.put(wrongUnit)
        .statusCode(422)
        .body("issue.details.coding.flatten().code", hasItem("wrong-unit"));
    ServiceRequest noDose = order.copy();
    noDose.getExtension().removeIf(e -> e.getUrl().endsWith("/dose"));
    PlanPerson.put(noDose)
        .statusCode(422)
        .body("issue.details.coding.flatten().code", hasItem("missing"));
    assertEquals(version, person.inForce().get("towel-flexion-stretch").getMeta().getVersionId());
  }

  @Test
  void whatAPrescriptionIsAboutDoesNotChange() {
    PlanPerson person = PlanPerson.enrolled();
    PlanPerson other = PlanPerson.here();
    ServiceRequest order = person.inForce().get("towel-flexion-stretch");
    immutable(order.copy().setIntent(ServiceRequestIntent.PLAN), "ServiceRequest.intent");
    immutable(order.copy().setSubject(new Reference(other.subject)), "ServiceRequest.subject");
    ServiceRequest canonical = order.copy();
    canonical.setInstantiatesCanonical(
        List.of(new CanonicalType("https://x.example/ActivityDefinition/y|1")));
    immutable(canonical, "ServiceRequest.instantiatesCanonical");
    ServiceRequest side = order.copy();
    side.getBodySite().clear();
    side.addBodySite().addCoding().setSystem("http://snomed.info/sct").setCode("6757004");
    immutable(side, "ServiceRequest.bodySite");
    ServiceRequest code = order.copy();
    code.getCode().getCodingFirstRep().setCode("quadruped-rock-back");
    immutable(code, "ServiceRequest.code");
    PlanPerson.put(order.copy().setStatus(ServiceRequestStatus.REVOKED))
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("ServiceRequest.status"));
    assertEquals(2, person.inForce().size());
  }

  private static void immutable(org.hl7.fhir.r4.model.Resource changed, String expression) {
    PlanPerson.put(changed)
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("immutable"))
        .body("issue[0].expression[0]", equalTo(expression));
  }

  @Test
  void whatAPlanIsAboutDoesNotChange() {
    PlanPerson person = PlanPerson.enrolled();
    PlanPerson other = PlanPerson.here();
    CarePlan plan = person.plan();
    immutable(plan.copy().setSubject(new Reference(other.subject)), "CarePlan.subject");
    PlanPerson.put(plan.copy().setIntent(CarePlan.CarePlanIntent.ORDER))
        .statusCode(422)
        .body("issue.expression.flatten()", hasItem("CarePlan.intent"));
    CarePlan programme = plan.copy();
    programme.setInstantiatesCanonical(
        List.of(
            new CanonicalType(
                "https://tidemark.example/fhir/PlanDefinition/standing-heel-raise|1.0.0")));
    immutable(programme, "CarePlan.instantiatesCanonical");
    CarePlan none = plan.copy();
    none.setInstantiatesCanonical(null);
    immutable(none, "CarePlan.instantiatesCanonical");
    CarePlan side = plan.copy();
    side.getExtensionByUrl(PlanPerson.OURS + "side").setValue(new CodeType("right"));
    PlanPerson.put(side)
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("immutable"));
    assertEquals(plan.getMeta().getVersionId(), person.plan().getMeta().getVersionId());
  }

  @Test
  void aPlanIsHeldResumedAndCompletedByItsStatus() {
    PlanPerson person = PlanPerson.enrolled();
    List<String> start = person.asked();
    CarePlan held = person.amend(person.plan().setStatus(CarePlan.CarePlanStatus.ONHOLD));
    assertEquals(CarePlan.CarePlanStatus.ONHOLD, held.getStatus());
    assertTrue(person.inForce().isEmpty());
    assertTrue(
        person.all(ServiceRequest.class).stream()
            .allMatch(o -> o.getStatus() == ServiceRequestStatus.ONHOLD));
    assertTrue(PlanPerson.reasons(person.lastDecision()).contains("plan-on-hold"));
    person.amend(person.plan().setStatus(CarePlan.CarePlanStatus.ACTIVE));
    assertEquals(start, person.asked());
    person.amend(person.plan().setStatus(CarePlan.CarePlanStatus.ONHOLD));
    person.amend(person.plan().setStatus(CarePlan.CarePlanStatus.ACTIVE));
    assertEquals(start, person.asked());
    CarePlan done = person.amend(person.plan().setStatus(CarePlan.CarePlanStatus.COMPLETED));
    assertTrue(
        person.all(ServiceRequest.class).stream()
            .allMatch(o -> o.getStatus() == ServiceRequestStatus.COMPLETED));
    assertEquals(2, done.getActivity().size(), "the record still shows what was asked last");
    PlanPerson.put(person.plan().setStatus(CarePlan.CarePlanStatus.ACTIVE))
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("CarePlan.status"));
  }

  @Test
  void aPlanRewrittenWithNothingButItsStatusKeepsWhatTheServiceWrote() {
    PlanPerson person = PlanPerson.enrolled();
    CarePlan bare = person.enrolment();
    bare.setId(person.plan().getIdElement().getIdPart());
    CarePlan stored = person.amend(bare);
    assertEquals(2, stored.getActivity().size());
    assertFalse(stored.getGoal().isEmpty());
    CarePlan ended = bare.copy().setStatus(CarePlan.CarePlanStatus.REVOKED);
    ended = person.amend(ended);
    assertEquals(2, ended.getActivity().size());
    assertFalse(ended.getGoal().isEmpty());
    assertTrue(ended.hasText());
  }

  @Test
  void aNoteOnAPlanDecidesNothing() {
    PlanPerson person = PlanPerson.enrolled();
    int decisions = person.all(GuidanceResponse.class).size();
    CarePlan noted = person.plan();
    noted.addNote().setText("Spoke on the phone.");
    CarePlan stored = person.amend(noted);
    assertEquals("Spoke on the phone.", stored.getNoteFirstRep().getText());
    assertEquals(2, stored.getActivity().size());
    assertEquals(decisions, person.all(GuidanceResponse.class).size());
    assertEquals(2, person.all(ServiceRequest.class).size());
  }
}
