package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.hamcrest.Matchers.hasItems;
import static org.hamcrest.Matchers.startsWith;

import io.quarkus.test.junit.QuarkusTest;
import io.restassured.response.ValidatableResponse;
import java.util.UUID;
import org.hl7.fhir.r4.model.Observation;
import org.junit.jupiter.api.Test;
import org.tidemark.application.Types;

/** What is not valid is refused on the way in, and {@code $validate} says so beforehand. */
@QuarkusTest
class ValidationTest {
  private static final String PROFILE =
      "https://tidemark.example/fhir/StructureDefinition/session-report";

  /** Valid in its structure; a name that ends before it begins. */
  private static final String BACKWARDS =
      "\"name\":[{\"family\":\"Tjeerdsma\",\"period\":{\"start\":\"2026-02-01\",\"end\":\"2026-01-01\"}}]";

  private static final String PATIENT = "{\"resourceType\":\"Patient\"," + BACKWARDS + "}";

  // ---- on the way in ----

  @Test
  void aCreationIsRefused() {
    assertNotValid(post("Patient", PATIENT), "Patient.name[0].period");
  }

  @Test
  void anUpdateIsRefusedAndNothingIsStored() {
    String id = UUID.randomUUID().toString();
    assertNotValid(Fhir.put("Patient", id, "," + BACKWARDS), "Patient.name[0].period");
    given().get("/fhir/Patient/" + id).then().statusCode(404);
  }

  @Test
  void whatComesOfAPatchIsRefused() {
    String id = UUID.randomUUID().toString();
    Fhir.put("Patient", id, ",\"telecom\":[{\"system\":\"phone\",\"value\":\"1\"}]")
        .statusCode(201);
    given()
        .contentType("application/json-patch+json")
        .body("[{\"op\":\"remove\",\"path\":\"/telecom/0/system\"}]")
        .patch("/fhir/Patient/" + id)
        .then()
        .statusCode(422)
        .body("issue[0].expression", equalTo(java.util.List.of("Patient.telecom[0]")));
  }

  @Test
  void anEntryOfATransactionIsNamedAndNothingIsStored() {
    String id = UUID.randomUUID().toString();
    assertNotValid(post("", bundle("transaction", id)), "Bundle.entry[1].resource.name[0].period");
    given().get("/fhir/Patient/" + id).then().statusCode(404);
  }

  @Test
  void anEntryOfABatchIsRefusedByItself() {
    String id = UUID.randomUUID().toString();
    post("", bundle("batch", id))
        .statusCode(200)
        .body("entry[0].response.status", startsWith("201"))
        .body("entry[1].response.status", startsWith("422"))
        .body("entry[1].response.outcome.issue[0].details.coding[0].code", equalTo("not-valid"));
    given().get("/fhir/Patient/" + id).then().statusCode(200);
  }

  @Test
  void anObservationMustFitTheProfileThatItClaims() {
    PlanPerson person = PlanPerson.here();
    Observation session = PlanPerson.wire("session-report", Observation.class);
    session.getSubject().setReference(person.subject);
    session.getMeta().addProfile(PROFILE);
    session.setBasedOn(null);
    session.getEffectiveDateTimeType().setValueAsString(PlanPerson.at(1, "17:30"));
    post("Observation", PlanPerson.json(session)).statusCode(201);
    Observation pain = PlanPerson.wire("bare-pain-score", Observation.class);
    pain.getSubject().setReference(person.subject);
    post("Observation", PlanPerson.json(pain)).statusCode(201);
    pain.getMeta().addProfile(PROFILE);
    post("Observation", PlanPerson.json(pain))
        .statusCode(422)
        .body("issue.details.coding.code.flatten()", hasItem("not-valid"));
  }

  // ---- asked beforehand ----

  @Test
  void aResourceByItselfIsValidated() {
    post("Patient/$validate", PATIENT)
        .statusCode(200)
        .body("resourceType", equalTo("OperationOutcome"))
        .body("issue[0].severity", equalTo("error"))
        .body("issue[0].expression[0]", equalTo("Patient.name[0].period"));
    post("Patient/$validate", "{\"resourceType\":\"Patient\",\"active\":true}")
        .statusCode(200)
        .body("issue.severity", equalTo(java.util.List.of("information")));
  }

  @Test
  void whatLacksStructureIsAnsweredNotRefused() {
    post("Patient/$validate", "{\"resourceType\":\"Patient\",\"birthDate\":\"1990-02-31\"}")
        .statusCode(200)
        .body("issue[0].expression[0]", equalTo("Patient.birthDate"));
    post("Patient/$validate", "{").statusCode(400);
    post(
            "Patient/$validate",
            "{\"resourceType\":\"Goal\",\"lifecycleStatus\":\"active\",\"description\":{\"text\":\"x\"},\"subject\":{\"display\":\"x\"}}")
        .statusCode(400);
    post("Patient/$validate", "").statusCode(422);
  }

  @Test
  void aProfileIsAskedFor() {
    String bare = Fhir.observation("x", "72514-3", "2026-01-01", "3");
    post("Observation/$validate", bare).body("issue.severity", not("error"));
    given()
        .contentType(Fhir.JSON)
        .queryParam("profile", PROFILE)
        .body(bare)
        .post("/fhir/Observation/$validate")
        .then()
        .statusCode(200)
        .body("issue.severity", hasItem("error"));
    post("Observation/$validate", parameters(bare, "profile", "valueUri", PROFILE))
        .statusCode(200)
        .body("issue.severity", hasItem("error"));
    post("Observation/$validate", parameters(bare, "profile", "valueUri", PROFILE + "-not"))
        .statusCode(404);
  }

  @Test
  void aStoredRecordIsValidated() {
    given()
        .get("/fhir/PlanDefinition/knee-deep-flexion/$validate")
        .then()
        .statusCode(200)
        .body("issue.severity", not("error"));
    given()
        .queryParam("profile", PROFILE.replace("session-report", "exercise-variation"))
        .get("/fhir/ActivityDefinition/split-squat-rock/$validate")
        .then()
        .statusCode(200)
        .body("issue.severity", not("error"));
    given().get("/fhir/Patient/absent/$validate").then().statusCode(404);
  }

  /** Beyond the content: what the service's own rules say of the write. */
  @Test
  void aWriteIsRehearsedAndNotMade() {
    String absent = Fhir.observation("absent", "72514-3", "2026-01-01", "3");
    post("Observation/$validate", parameters(absent, "mode", "valueCode", "create"))
        .statusCode(200)
        .body("issue[0].details.coding[0].code", equalTo("unknown-reference"));
    String id = UUID.randomUUID().toString();
    String patient = "{\"resourceType\":\"Patient\",\"id\":\"" + id + "\"}";
    post("Patient/" + id + "/$validate", parameters(patient, "mode", "valueCode", "update"))
        .statusCode(200)
        .body("issue.severity", not("error"));
    given().get("/fhir/Patient/" + id).then().statusCode(404);
    post("Patient/$validate", parameters(patient, "mode", "valueCode", "guess")).statusCode(422);
  }

  @Test
  void aDeletionIsRehearsedAndNotMade() {
    PlanPerson person = PlanPerson.here();
    String address = "/fhir/" + person.subject;
    given()
        .queryParam("mode", "delete")
        .get(address + "/$validate")
        .then()
        .statusCode(200)
        .body("issue[0].severity", equalTo("information"));
    given().get(address).then().statusCode(200);
    person.send(person.baseline());
    given()
        .queryParam("mode", "delete")
        .get(address + "/$validate")
        .then()
        .statusCode(200)
        .body("issue[0].details.coding[0].code", equalTo("in-use"));
  }

  @Test
  void xmlIsValidatedToo() {
    given()
        .contentType(Fhir.XML)
        .body(
            "<Patient xmlns=\"http://hl7.org/fhir\"><telecom><value value=\"1\"/></telecom></Patient>")
        .post("/fhir/Patient/$validate")
        .then()
        .statusCode(200)
        .body(containsString("cpt-2"));
  }

  @Test
  void everyTypeOffersItByTheStandardsDefinition() {
    given()
        .get("/fhir/metadata")
        .then()
        .body(
            "rest[0].resource.findAll { it.operation.any { o -> o.definition =="
                + " 'http://hl7.org/fhir/OperationDefinition/Resource-validate' } }.type",
            hasItems(Types.WRITTEN.toArray(String[]::new)))
        .body(
            "rest[0].resource.find { it.type == 'CarePlan' }.operation.definition",
            hasItem("https://tidemark.example/fhir/OperationDefinition/next-prescription"));
    given()
        .get("/fhir/OperationDefinition/next-prescription")
        .then()
        .statusCode(200)
        .body("parameter.name", hasItems("decision", "prescription", "proposal"));
  }

  private static org.hamcrest.Matcher<Iterable<? super String>> not(String severity) {
    return org.hamcrest.Matchers.not(hasItem(severity));
  }

  private static void assertNotValid(ValidatableResponse answer, String expression) {
    answer
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("not-valid"))
        .body("issue[0].code", equalTo("invalid"))
        .body("issue[0].diagnostics", containsString("per-1"))
        .body("issue[0].expression", equalTo(java.util.List.of(expression)));
  }

  private static ValidatableResponse post(String address, String body) {
    return given().contentType(Fhir.JSON).body(body).post("/fhir/" + address).then();
  }

  private static String parameters(String resource, String name, String type, String value) {
    return """
        {"resourceType":"Parameters","parameter":[{"name":"resource","resource":%s},
         {"name":"%s","%s":"%s"}]}"""
        .formatted(resource, name, type, value);
  }

  private static String bundle(String type, String id) {
    return """
        {"resourceType":"Bundle","type":"%s","entry":[
         {"resource":{"resourceType":"Patient","id":"%s"},
          "request":{"method":"PUT","url":"Patient/%s"}},
         {"resource":%s,"request":{"method":"POST","url":"Patient"}}]}"""
        .formatted(type, id, id, PATIENT);
  }
}
