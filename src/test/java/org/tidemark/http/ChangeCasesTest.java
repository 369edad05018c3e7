package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.hamcrest.Matchers.hasSize;
import static org.hamcrest.Matchers.notNullValue;
import static org.hamcrest.Matchers.startsWith;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.restassured.response.ValidatableResponse;
import java.util.ArrayList;
import java.util.HashSet;
import java.util.List;
import java.util.Set;
import java.util.UUID;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import java.util.function.Supplier;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/**
 * How records are changed under conditions, patched, deleted, and what their history says. Sources:
 * FHIR R4, RESTful API (conditional interactions, patch, delete, history); RFC 6902.
 */
@QuarkusTest
class ChangeCasesTest {
  private static final String JSON_PATCH = "application/json-patch+json";

  private static String id() {
    return UUID.randomUUID().toString();
  }

  private static ValidatableResponse patch(String address, String type, String body) {
    return given().contentType(type).body(body).patch("/fhir/" + address).then();
  }

  private static ValidatableResponse get(String address) {
    return given().get("/fhir/" + address).then();
  }

  private static String identifier(String value) {
    return ",\"identifier\":[{\"system\":\"urn:test\",\"value\":\"" + value + "\"}]";
  }

  // ---- patch ----

  @Test
  void case22AJsonPatchMakesTheNextVersion() {
    String patient = id();
    Fhir.put("Patient", patient, ",\"gender\":\"female\"").statusCode(201);
    patch(
            "Patient/" + patient,
            JSON_PATCH,
            "[{\"op\":\"test\",\"path\":\"/gender\",\"value\":\"female\"},"
                + "{\"op\":\"add\",\"path\":\"/birthDate\",\"value\":\"1961-04-02\"}]")
        .statusCode(200)
        .header("ETag", "W/\"2\"")
        .body("birthDate", equalTo("1961-04-02"))
        .body("gender", equalTo("female"));
  }

  @Test
  void aJsonPatchKeepsTheDigitsOfDecimals() {
    String patient = id();
    Fhir.put("Patient", patient, "").statusCode(201);
    String observation =
        Fhir.post(Fhir.observation(patient, "8302-2", "2026-03-02", "5.10"))
            .statusCode(201)
            .extract()
            .path("id");
    patch(
            "Observation/" + observation,
            JSON_PATCH,
            "[{\"op\":\"replace\",\"path\":\"/status\",\"value\":\"amended\"}]")
        .statusCode(200);
    assertEquals(
        true, get("Observation/" + observation).extract().asString().contains("\"value\":5.10"));
  }

  @ParameterizedTest(name = "{0}")
  @CsvSource(
      delimiter = ';',
      value = {
        "a test that fails; [{\"op\":\"test\",\"path\":\"/gender\",\"value\":\"male\"}]; 422;"
            + " patch-failed",
        "a path to nothing; [{\"op\":\"remove\",\"path\":\"/birthDate\"}]; 422; patch-failed",
        "an element that R4 has not;"
            + " [{\"op\":\"add\",\"path\":\"/colour\",\"value\":\"blue\"}]; 422; unknown-element",
        "another id; [{\"op\":\"replace\",\"path\":\"/id\",\"value\":\"x\"}]; 422; immutable",
        "no patch; {\"op\":\"add\"}; 400; malformed",
        "an operation without a path; [{\"op\":\"add\"}]; 400; malformed",
        "an operation that is none; [{\"op\":\"paint\",\"path\":\"/gender\"}]; 400; malformed",
        "no JSON; [{; 400; malformed"
      })
  void case22AJsonPatchThatFailsChangesNothing(String name, String body, int status, String code) {
    String patient = id();
    Fhir.put("Patient", patient, ",\"gender\":\"female\"").statusCode(201);
    patch("Patient/" + patient, JSON_PATCH, body)
        .statusCode(status)
        .body("resourceType", equalTo("OperationOutcome"))
        .body("issue[0].details.coding[0].code", equalTo(code));
    get("Patient/" + patient).header("ETag", "W/\"1\"").body("gender", equalTo("female"));
  }

  private static String operation(String type, String path, String more) {
    return """
        {"resourceType":"Parameters","parameter":[{"name":"operation","part":[
          {"name":"type","valueCode":"%s"},{"name":"path","valueString":"%s"}%s]}]}"""
        .formatted(type, path, more);
  }

  @Test
  void case22AFhirPathPatchMakesTheNextVersion() {
    String patient = id();
    Fhir.put("Patient", patient, ",\"birthDate\":\"1961-04-02\"").statusCode(201);
    patch(
            "Patient/" + patient,
            Fhir.JSON,
            operation(
                "replace",
                "Patient.birthDate",
                ",{\"name\":\"value\",\"valueDate\":\"1961-04-03\"}"))
        .statusCode(200)
        .header("ETag", "W/\"2\"")
        .body("birthDate", equalTo("1961-04-03"));
  }

  @ParameterizedTest(name = "{0} {1}")
  @CsvSource(
      delimiter = ';',
      value = {
        "replace; Patient.deceased; ,{\"name\":\"value\",\"valueBoolean\":true}; 422",
        "replace; Patient.birthDate; ; 422",
        "paint; Patient.birthDate; ; 400",
        "delete; Patient.birthDate.wash(); ; 422",
        "add; Patient; ,{\"name\":\"name\",\"valueString\":\"colour\"},"
            + "{\"name\":\"value\",\"valueString\":\"blue\"}; 422"
      })
  void case22AFhirPathPatchThatFailsNamesItsOperation(
      String type, String path, String more, int status) {
    String patient = id();
    Fhir.put("Patient", patient, ",\"birthDate\":\"1961-04-02\"").statusCode(201);
    patch("Patient/" + patient, Fhir.JSON, operation(type, path, more == null ? "" : more))
        .statusCode(status)
        .body("issue[0].expression[0]", equalTo("Parameters.parameter[0]"));
    get("Patient/" + patient).header("ETag", "W/\"1\"");
  }

  @Test
  void aPatchHoldsToIfMatchAndToTheTypesItTakes() {
    String patient = id();
    Fhir.put("Patient", patient, "").statusCode(201);
    String body = "[{\"op\":\"add\",\"path\":\"/active\",\"value\":true}]";
    given()
        .contentType(JSON_PATCH)
        .header("If-Match", "W/\"2\"")
        .body("[{\"op\":\"test\",\"path\":\"/active\",\"value\":false}]")
        .patch("/fhir/Patient/" + patient)
        .then()
        .statusCode(412);
    given()
        .contentType(JSON_PATCH)
        .header("If-Match", "W/\"2\"")
        .body(body)
        .patch("/fhir/Patient/" + patient)
        .then()
        .statusCode(412);
    patch("Patient/" + id(), JSON_PATCH, body).statusCode(404);
    patch("Patient/" + patient, "text/plain", body).statusCode(415);
    patch("Patient/" + patient, Fhir.JSON, "{\"resourceType\":\"Patient\"}").statusCode(400);
    get("Patient/" + patient).header("ETag", "W/\"1\"");
  }

  @Test
  void aPatchUnderAConditionNeedsOneMatch() {
    String value = id();
    String patient = id();
    String body = "[{\"op\":\"add\",\"path\":\"/active\",\"value\":true}]";
    String address = "Patient?identifier=urn:test|" + value;
    patch(address, JSON_PATCH, body).statusCode(404);
    Fhir.put("Patient", patient, identifier(value)).statusCode(201);
    patch(address, JSON_PATCH, body).statusCode(200).body("id", equalTo(patient));
    Fhir.put("Patient", id(), identifier(value)).statusCode(201);
    patch(address, JSON_PATCH, body).statusCode(412);
  }

  @Test
  void thePersonOfAPlanIsNotPatchedAndWhatItRestsOnIsNotDeleted() {
    PlanPerson person = PlanPerson.enrolled();
    person.settled(1, 1);
    String plan = person.plan().getIdPart();
    patch(
            "CarePlan/" + plan,
            JSON_PATCH,
            "[{\"op\":\"replace\",\"path\":\"/subject/reference\",\"value\":\"Patient/other\"}]")
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("immutable"));
    String report =
        get("Observation?subject=" + person.subject + "&_count=1")
            .extract()
            .path("entry[0].resource.id");
    given()
        .delete("/fhir/Observation/" + report)
        .then()
        .statusCode(409)
        .body("issue[0].details.coding[0].code", equalTo("in-use"))
        .body("issue[0].details.text", containsString("CarePlan/" + plan));
  }

  // ---- conditional update and create ----

  /** Without a condition it would be about every record of the type. */
  @Test
  void aChangeOfATypeNeedsACondition() {
    given()
        .delete("/fhir/Observation")
        .then()
        .statusCode(400)
        .body("issue[0].details.coding[0].code", equalTo("bad-request"));
    patch("Observation", JSON_PATCH, "[]")
        .statusCode(400)
        .body("issue[0].details.coding[0].code", equalTo("bad-request"));
    given()
        .contentType(Fhir.JSON)
        .body("{\"resourceType\":\"Patient\"}")
        .put("/fhir/Patient")
        .then()
        .statusCode(400);
  }

  @Test
  void anUpdateUnderAConditionUpdatesTheMatchOrCreates() {
    String value = id();
    String address = "/fhir/Patient?identifier=urn:test|" + value;
    String body = "{\"resourceType\":\"Patient\"" + identifier(value) + "}";
    String created =
        given()
            .contentType(Fhir.JSON)
            .body(body)
            .put(address)
            .then()
            .statusCode(201)
            .extract()
            .path("id");
    given()
        .contentType(Fhir.JSON)
        .body(body)
        .put(address)
        .then()
        .statusCode(200)
        .body("id", equalTo(created))
        .header("ETag", "W/\"2\"");
    given()
        .contentType(Fhir.JSON)
        .body("{\"resourceType\":\"Patient\",\"id\":\"another\"" + identifier(value) + "}")
        .put(address)
        .then()
        .statusCode(400);
    Fhir.put("Patient", id(), identifier(value)).statusCode(201);
    given().contentType(Fhir.JSON).body(body).put(address).then().statusCode(412);
  }

  @Test
  void case15ACreationUnderAConditionThatNoneOneOrTwoRecordsMatch() {
    String value = id();
    String body = "{\"resourceType\":\"Patient\"" + identifier(value) + "}";
    Supplier<ValidatableResponse> create =
        () ->
            given()
                .contentType(Fhir.JSON)
                .header("If-None-Exist", "identifier=urn:test|" + value)
                .body(body)
                .post("/fhir/Patient")
                .then();
    String id = create.get().statusCode(201).extract().path("id");
    create.get().statusCode(200).header("ETag", "W/\"1\"").body("id", equalTo(id));
    Fhir.put("Patient", id(), identifier(value)).statusCode(201);
    create
        .get()
        .statusCode(412)
        .body("issue[0].details.coding[0].code", equalTo("multiple-matches"));
  }

  @Test
  void case15AConditionMayBeAnySearch() {
    String patient = id();
    Fhir.put("Patient", patient, "").statusCode(201);
    String body = Fhir.observation(patient, "8302-2", "2026-03-02", "175");
    String condition = "subject=Patient/" + patient + "&code=8302-2&date=2026-03-02";
    for (int status : new int[] {201, 200}) {
      given()
          .contentType(Fhir.JSON)
          .header("If-None-Exist", condition)
          .body(body)
          .post("/fhir/Observation")
          .then()
          .statusCode(status);
    }
    given()
        .contentType(Fhir.JSON)
        .header("If-None-Exist", condition + "&_sort=date")
        .body(body)
        .post("/fhir/Observation")
        .then()
        .statusCode(400);
  }

  @ParameterizedTest(name = "{0} at once, {1}")
  @CsvSource({"8, true", "8, false", "64, true", "64, false"})
  void conditionalUpdatesAtOnceMakeOneRecord(int writers, boolean byIdentifier) throws Exception {
    String value = id();
    String subject = id();
    Fhir.put("Patient", subject, "").statusCode(201);
    String address =
        byIdentifier
            ? "/fhir/Observation?identifier=urn:test|" + value
            : "/fhir/Observation?subject=Patient/" + subject + "&code=8302-2";
    String plain = Fhir.observation(subject, "8302-2", "2026-03-02", "175");
    String body = plain.substring(0, plain.lastIndexOf('}')) + identifier(value) + "}";
    ExecutorService pool = Executors.newFixedThreadPool(writers);
    List<Future<String>> answers = new ArrayList<>();
    for (int i = 0; i < writers; i++) {
      answers.add(
          pool.submit(
              () ->
                  given()
                      .contentType(Fhir.JSON)
                      .body(body)
                      .put(address)
                      .then()
                      .extract()
                      .path("id")));
    }
    Set<String> ids = new HashSet<>();
    for (Future<String> answer : answers) {
      ids.add(answer.get());
    }
    pool.shutdown();
    assertEquals(1, ids.size());
    get("Observation/" + ids.iterator().next()).header("ETag", "W/\"" + writers + "\"");
  }

  // ---- delete ----

  @Test
  void case13ADeletedRecordIsGoneAndCanBeMadeAgain() {
    String patient = id();
    Fhir.put("Patient", patient, identifier(patient)).statusCode(201);
    given().delete("/fhir/Patient/" + patient).then().statusCode(204);
    get("Patient/" + patient)
        .statusCode(410)
        .body("issue[0].details.coding[0].code", equalTo("deleted"));
    get("Patient/" + patient + "/_history/1").statusCode(200);
    get("Patient/" + patient + "/_history/2").statusCode(410);
    get("Patient?identifier=urn:test|" + patient).body("total", equalTo(0));
    given().delete("/fhir/Patient/" + patient).then().statusCode(204);
    given().delete("/fhir/Patient/" + id()).then().statusCode(204);
    Fhir.put("Patient", patient, "").statusCode(201).header("ETag", "W/\"3\"");
    get("Patient/" + patient).statusCode(200);
  }

  @Test
  void case29ARecordThatOthersReferToIsNotDeleted() {
    String patient = id();
    String goal = id();
    String plan = id();
    Fhir.put("Patient", patient, "").statusCode(201);
    String subject = ",\"subject\":{\"reference\":\"Patient/" + patient + "\"}";
    Fhir.put(
            "Goal",
            goal,
            ",\"lifecycleStatus\":\"active\",\"description\":{\"text\":\"Stairs\"}" + subject)
        .statusCode(201);
    String planBody = ",\"status\":\"draft\",\"intent\":\"plan\"" + subject;
    Fhir.put("CarePlan", plan, planBody + ",\"goal\":[{\"reference\":\"Goal/" + goal + "\"}]")
        .statusCode(201);
    given()
        .delete("/fhir/Goal/" + goal)
        .then()
        .statusCode(409)
        .body("issue[0].details.text", containsString("CarePlan/" + plan));
    given().delete("/fhir/Patient/" + patient).then().statusCode(409);
    get("Goal/" + goal).statusCode(200);
    Fhir.put("CarePlan", plan, planBody).statusCode(200);
    given().delete("/fhir/Goal/" + goal).then().statusCode(204);
    get("Goal/" + goal).statusCode(410);
  }

  @Test
  void plansAndTheTrailAreNotDeleted() {
    for (String type : List.of("CarePlan", "ServiceRequest", "Provenance", "PlanDefinition")) {
      given()
          .delete("/fhir/" + type + "/" + id())
          .then()
          .statusCode(405)
          .body("issue[0].details.coding[0].code", equalTo("not-allowed"));
    }
  }

  @Test
  void aDeletionHoldsToIfMatchAndToItsCondition() {
    String patient = id();
    Fhir.put("Patient", patient, identifier(patient)).statusCode(201);
    given().header("If-Match", "W/\"4\"").delete("/fhir/Patient/" + patient).then().statusCode(412);
    given().delete("/fhir/Patient?identifier=urn:test|" + id()).then().statusCode(204);
    given().delete("/fhir/Patient?identifier=urn:test|" + patient).then().statusCode(204);
    get("Patient/" + patient).statusCode(410);
  }

  // ---- history ----

  /** Five updates, a deletion, and the record made again. */
  @Test
  void case45TheHistoryOfARecordIsCompleteAndNewestFirst() {
    String patient = id();
    for (int i = 1; i <= 6; i++) {
      Fhir.put("Patient", patient, ",\"birthDate\":\"196" + i + "-01-01\"");
    }
    given().delete("/fhir/Patient/" + patient).then().statusCode(204);
    Fhir.put("Patient", patient, "").statusCode(201);
    get("Patient/" + patient + "/_history")
        .statusCode(200)
        .body("type", equalTo("history"))
        .body("entry", hasSize(8))
        .body("entry[0].resource.meta.versionId", equalTo("8"))
        .body("entry[1].request.method", equalTo("DELETE"))
        .body("entry[1].resource", equalTo(null))
        .body("entry[7].request.method", equalTo("POST"))
        .body("entry[7].resource.birthDate", equalTo("1961-01-01"))
        .body("entry[7].response.etag", equalTo("W/\"1\""))
        .body("entry[7].response.lastModified", notNullValue());
    get("Patient/" + patient + "/_history/1").body("birthDate", equalTo("1961-01-01"));
  }

  @Test
  void aHistoryIsReadPageByPage() {
    String patient = id();
    for (int i = 1; i <= 7; i++) {
      Fhir.put("Patient", patient, ",\"birthDate\":\"196" + i + "-01-01\"");
    }
    List<String> versions = new ArrayList<>();
    String next = "/fhir/Patient/" + patient + "/_history?_count=3";
    while (next != null) {
      ValidatableResponse page = given().get(next).then().statusCode(200);
      versions.addAll(page.extract().path("entry.resource.meta.versionId"));
      String url = page.extract().path("link.find { it.relation == 'next' }?.url");
      next = url == null ? null : url.substring(url.indexOf("/fhir/"));
    }
    assertEquals(List.of("7", "6", "5", "4", "3", "2", "1"), versions);
  }

  /** The same statement serves pages of every size; none may keep the size of another. */
  @Test
  void aHistoryHasAsManyVersionsAsAreAskedForWhateverWasAskedBefore() {
    String patient = id();
    for (int i = 1; i <= 7; i++) {
      Fhir.put("Patient", patient, ",\"birthDate\":\"196" + i + "-01-01\"");
    }
    for (int count : List.of(1, 500, 2, 5, 500, 1)) {
      for (int again = 0; again < 4; again++) {
        for (String address : List.of("Patient/" + patient + "/_history", "Patient/_history")) {
          ValidatableResponse page = get(address + "?_count=" + count).statusCode(200);
          List<String> ids = page.extract().path("entry.resource.id");
          assertTrue(ids.size() >= Math.min(count, 7), address + ", " + count + ": " + ids.size());
          page.body("total", equalTo(null));
        }
      }
    }
  }

  @Test
  void case45AHistoryIsReadSinceATimeAndAsOfATime() throws Exception {
    String patient = id();
    String first =
        Fhir.put("Patient", patient, ",\"active\":true").extract().path("meta.lastUpdated");
    Thread.sleep(5);
    String second =
        Fhir.put("Patient", patient, ",\"active\":false").extract().path("meta.lastUpdated");
    String address = "/fhir/Patient/" + patient + "/_history";
    given()
        .queryParam("_since", second)
        .get(address)
        .then()
        .body("entry.resource.meta.versionId", equalTo(List.of("2")));
    given()
        .queryParam("_since", first)
        .get(address)
        .then()
        .body("entry.resource.meta.versionId", equalTo(List.of("2", "1")));
    given()
        .queryParam("_at", first)
        .get(address)
        .then()
        .body("entry.resource.meta.versionId", equalTo(List.of("1")));
    given().queryParam("_at", "soon").get(address).then().statusCode(400);
    given().queryParam("colour", "red").get(address).then().statusCode(400);
    given().get("/fhir/Patient/" + id() + "/_history").then().statusCode(404);
  }

  @Test
  void theHistoriesOfATypeAndOfTheSystemHoldEveryChange() {
    String patient = id();
    String since =
        Fhir.put("Patient", patient, ",\"active\":true").extract().path("meta.lastUpdated");
    Fhir.put("Patient", patient, ",\"active\":false").statusCode(200);
    for (String address : List.of("/fhir/Patient/_history", "/fhir/_history")) {
      given()
          .queryParam("_since", since)
          .queryParam("_count", 500)
          .get(address)
          .then()
          .statusCode(200)
          .body("link[0].url", startsWith("http"))
          .body("entry.fullUrl", hasItem(containsString("Patient/" + patient)));
    }
  }

  // ---- in a Bundle ----

  private static String entry(String method, String url, String resource) {
    return "{\"request\":{\"method\":\""
        + method
        + "\",\"url\":\""
        + url
        + "\"}"
        + (resource.isEmpty() ? "" : ",\"resource\":" + resource)
        + "}";
  }

  private static ValidatableResponse send(String type, String... entries) {
    return given()
        .contentType(Fhir.JSON)
        .body(
            "{\"resourceType\":\"Bundle\",\"type\":\""
                + type
                + "\",\"entry\":["
                + String.join(",", entries)
                + "]}")
        .post("/fhir")
        .then();
  }

  @ParameterizedTest
  @CsvSource({"transaction", "batch"})
  void aBundleDeletesPatchesAndUpdatesUnderConditions(String type) {
    String gone = id();
    String patched = id();
    String value = id();
    Fhir.put("Patient", gone, "").statusCode(201);
    Fhir.put("Patient", patched, "").statusCode(201);
    send(
            type,
            entry("DELETE", "Patient/" + gone, ""),
            entry(
                "PATCH",
                "Patient/" + patched,
                operation(
                    "add",
                    "Patient",
                    ",{\"name\":\"name\",\"valueString\":\"active\"},"
                        + "{\"name\":\"value\",\"valueBoolean\":true}")),
            entry(
                "PUT",
                "Patient?identifier=urn:test|" + value,
                "{\"resourceType\":\"Patient\"" + identifier(value) + "}"))
        .statusCode(200)
        .body("entry[0].response.status", startsWith("204"))
        .body("entry[1].response.status", startsWith("200"))
        .body("entry[2].response.status", startsWith("201"));
    get("Patient/" + gone).statusCode(410);
    get("Patient/" + patched).body("active", equalTo(true));
    get("Patient?identifier=urn:test|" + value).body("total", equalTo(1));
  }

  /** As searches write them: https://hl7.org/fhir/R4/search.html#escaping. */
  @ParameterizedTest
  @ValueSource(strings = {"a,b", "a|b", "a$b", "a\\b", "a b"})
  void aConditionNamesAnIdentifierWithWhatPartsValues(String part) {
    String value = part + id();
    String condition = "identifier=urn:test|" + value.replaceAll("([\\\\,|$])", "\\\\$1");
    for (int status : new int[] {201, 200}) {
      given()
          .contentType(Fhir.JSON)
          .header("If-None-Exist", condition.replace(" ", "%20"))
          .body(
              PlanPerson.json(
                  new org.hl7.fhir.r4.model.Patient()
                      .addIdentifier(
                          new org.hl7.fhir.r4.model.Identifier()
                              .setSystem("urn:test")
                              .setValue(value))))
          .post("/fhir/Patient")
          .then()
          .statusCode(status);
    }
  }

  @ParameterizedTest(name = "{0} {1}: {2}")
  @CsvSource({
    "DELETE, Patient?_count=1, 400",
    "DELETE, 'Patient?identifier=a,b', 400",
    "DELETE, Patient?identifier=, 400",
    "DELETE, Patient, 400",
    "PUT, Patient?_sort=_id, 400"
  })
  void aConditionInATransactionIsHeldToTheSameRules(String method, String url, int status) {
    String resource = method.equals("PUT") ? "{\"resourceType\":\"Patient\"}" : "";
    send("transaction", entry(method, url, resource)).statusCode(status);
  }

  @Test
  void aRecordIsDeletedOnceInATransaction() {
    String patient = id();
    Fhir.put("Patient", patient, "").statusCode(201);
    send(
            "transaction",
            entry("DELETE", "Patient/" + patient, ""),
            entry("DELETE", "Patient/" + patient, ""))
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("duplicate"));
    get("Patient/" + patient).statusCode(200);
  }

  @Test
  void aTransactionWhoseDeletionIsRefusedChangesNothing() {
    String patient = id();
    String other = id();
    Fhir.put("Patient", patient, "").statusCode(201);
    Fhir.post(Fhir.observation(patient, "8302-2", "2026-03-02", "175")).statusCode(201);
    send(
            "transaction",
            entry(
                "PUT",
                "Patient/" + other,
                "{\"resourceType\":\"Patient\",\"id\":\"" + other + "\"}"),
            entry("DELETE", "Patient/" + patient, ""))
        .statusCode(409)
        .body("issue[0].expression[0]", startsWith("Bundle.entry[1]"));
    get("Patient/" + other).statusCode(404);
    get("Patient/" + patient).statusCode(200);
  }
}
