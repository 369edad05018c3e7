package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.RequestGroup;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.StringType;
import org.junit.jupiter.api.Test;

/** What would be decided, shown without storing anything. */
@QuarkusTest
class PlanOperationsTest {
  private static final List<String> TYPES =
      List.of(
          "CarePlan",
          "Goal",
          "ServiceRequest",
          "Task",
          "GuidanceResponse",
          "DetectedIssue",
          "Provenance",
          "Observation");

  private static Map<String, Integer> counts() {
    Map<String, Integer> counts = new LinkedHashMap<>();
    for (String type : TYPES) {
      counts.put(
          type,
          given().queryParam("_summary", "count").get("/fhir/" + type).jsonPath().getInt("total"));
    }
    return counts;
  }

  private static CarePlan apply(String subject, String side) {
    Parameters parameters = new Parameters();
    parameters.addParameter().setName("subject").setValue(new StringType(subject));
    if (side != null) {
      parameters.addParameter().setName("side").setValue(new CodeType(side));
    }
    return PlanPerson.client()
        .operation()
        .onInstance(new IdType("PlanDefinition", "knee-deep-flexion"))
        .named("$apply")
        .withParameters(parameters)
        .returnResourceType(CarePlan.class)
        .execute();
  }

  private static <T extends Resource> T contained(CarePlan plan, Class<T> type) {
    return plan.getContained().stream()
        .filter(type::isInstance)
        .map(type::cast)
        .findFirst()
        .orElseThrow();
  }

  @Test
  void applyShowsTheStartThatAnEnrolmentWouldLeadToAndStoresNothing() {
    PlanPerson person = PlanPerson.here();
    person.send(person.baseline());
    person.send(person.equipment());
    Map<String, Integer> before = counts();
    CarePlan shown = apply(person.subject, null);
    assertEquals(before, counts());
    assertEquals(CarePlan.CarePlanIntent.PROPOSAL, shown.getIntent());
    assertEquals(1, shown.getActivity().size());
    assertEquals(2, contained(shown, RequestGroup.class).getAction().size());
    List<String> proposed =
        shown.getContained().stream()
            .filter(ServiceRequest.class::isInstance)
            .map(r -> PlanPerson.asked((ServiceRequest) r))
            .sorted()
            .toList();
    person.enrol();
    assertEquals(person.asked(), proposed);
  }

  @Test
  void applyWithoutDataSaysWhatIsMissing() {
    PlanPerson person = PlanPerson.here();
    Map<String, Integer> before = counts();
    CarePlan shown = apply(person.subject, "left");
    assertTrue(shown.getActivity().isEmpty());
    GuidanceResponse guidance = contained(shown, GuidanceResponse.class);
    assertEquals(GuidanceResponse.GuidanceResponseStatus.DATAREQUIRED, guidance.getStatus());
    assertEquals(4, guidance.getDataRequirement().size());
    assertEquals(before, counts());
  }

  @Test
  void applyWorksForAPersonOfAnotherRecordSystem() {
    PlanPerson person =
        PlanPerson.elsewhere("https://records.example/fhir/Patient/apply-" + System.nanoTime());
    person.send(person.baseline());
    person.send(person.equipment());
    CarePlan shown = apply(person.subject, null);
    assertEquals(person.subject, shown.getSubject().getReference());
    assertEquals(1, shown.getActivity().size());
  }

  @Test
  void applyThatCannotBeAnsweredNamesTheParameter() {
    PlanPerson person = PlanPerson.here();
    String operation = "/fhir/PlanDefinition/knee-deep-flexion/$apply";
    given()
        .get(operation)
        .then()
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("Parameters.parameter.where(name='subject')"));
    given()
        .queryParam("subject", person.subject)
        .queryParam("side", "both")
        .get(operation)
        .then()
        .statusCode(422)
        .body("issue.expression.flatten()", hasItem("Parameters.parameter.where(name='side')"));
    given()
        .queryParam("subject", person.subject)
        .get(operation)
        .then()
        .statusCode(422)
        .body("issue.expression.flatten()", hasItem("Parameters.parameter.where(name='side')"));
    given()
        .queryParam("subject", "Patient/there-is-none")
        .queryParam("side", "left")
        .get(operation)
        .then()
        .statusCode(422);
    given()
        .queryParam("subject", person.subject)
        .queryParam("side", "left")
        .get("/fhir/PlanDefinition/no-such/$apply")
        .then()
        .statusCode(404);
  }

  @Test
  void nextPrescriptionShowsWhatStandsAndStoresNothing() {
    PlanPerson person = PlanPerson.enrolled();
    person.settled(1, 6);
    Map<String, Integer> before = counts();
    String version = person.plan().getMeta().getVersionId();
    Parameters next = person.next();
    assertEquals(before, counts());
    assertEquals(version, person.plan().getMeta().getVersionId());
    GuidanceResponse decision = (GuidanceResponse) next.getParameter("decision").getResource();
    assertEquals(PlanPerson.reasons(person.lastDecision()), PlanPerson.reasons(decision));
    assertEquals(person.asked(), person.nextAsked());
  }

  @Test
  void nextPrescriptionOfWhatIsNoPlanOfOursIsRefused() {
    given().get("/fhir/CarePlan/no-such/$next-prescription").then().statusCode(404);
    PlanPerson person = PlanPerson.here();
    CarePlan other = new CarePlan();
    other.setStatus(CarePlan.CarePlanStatus.ACTIVE).setIntent(CarePlan.CarePlanIntent.PLAN);
    other.getSubject().setReference(person.subject);
    String id = person.send(other).getIdElement().getIdPart();
    given()
        .get("/fhir/CarePlan/" + id + "/$next-prescription")
        .then()
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("CarePlan.instantiatesCanonical"));
  }

  @Test
  void nextPrescriptionTellsOfAnOpenWarning() {
    PlanPerson person = PlanPerson.enrolled();
    Observation warning = person.send(person.warning(1));
    GuidanceResponse decision =
        (GuidanceResponse) person.next().getParameter("decision").getResource();
    assertEquals("withhold", PlanPerson.verdict(decision));
    assertTrue(person.nextAsked().isEmpty());
    assertTrue(warning.hasId());
  }

  @Test
  void nothingIsDecidedAboutAPlanThatIsOver() {
    PlanPerson person = PlanPerson.enrolled();
    CarePlan ended = person.amend(person.plan().setStatus(CarePlan.CarePlanStatus.COMPLETED));
    given()
        .get("/fhir/CarePlan/" + ended.getIdElement().getIdPart() + "/$next-prescription")
        .then()
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("CarePlan.status"));
  }
}
