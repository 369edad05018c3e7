package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.hamcrest.Matchers.hasSize;
import static org.hamcrest.Matchers.nullValue;
import static org.hamcrest.Matchers.startsWith;

import io.quarkus.test.junit.QuarkusTest;
import io.restassured.response.ValidatableResponse;
import org.junit.jupiter.api.Test;

/** Bundles: all or nothing for a transaction, one by one for a batch. */
@QuarkusTest
class TransactionTest {

  private static ValidatableResponse send(String type, String... entries) {
    return given()
        .contentType(Fhir.JSON)
        .body(
            "{\"resourceType\":\"Bundle\",\"type\":\"%s\",\"entry\":[%s]}"
                .formatted(type, String.join(",", entries)))
        .post("/fhir")
        .then();
  }

  private static String entry(String fullUrl, String method, String url, String resource) {
    return "{%s%s\"request\":{\"method\":\"%s\",\"url\":\"%s\"}}"
        .formatted(
            fullUrl.isEmpty() ? "" : "\"fullUrl\":\"" + fullUrl + "\",",
            resource.isEmpty() ? "" : "\"resource\":" + resource + ",",
            method,
            url);
  }

  private static String patient(String identifier) {
    return "{\"resourceType\":\"Patient\",\"identifier\":[{\"system\":\"urn:test\",\"value\":\"%s\"}]}"
        .formatted(identifier);
  }

  @Test
  void case24ReferencesBetweenEntriesAreResolvedInAnyOrderAndOnlyInReferences() {
    String urn = "urn:uuid:7d1a3f7e-0f10-4f0a-9d0e-1f2a3b4c5d6e";
    String observation =
        Fhir.observation("x", "72514-3", "2026-01-01", "3")
            .replace("\"Patient/x\"", "\"" + urn + "\"")
            .replaceFirst("\\{", "{\"note\":[{\"text\":\"about " + urn + "\"}],")
            .replaceFirst("\"note\"", "\"resourceType\":\"Observation\",\"note\"")
            .replaceFirst(",\"resourceType\":\"Observation\",\"status\"", ",\"status\"");
    io.restassured.path.json.JsonPath answer =
        send(
                "transaction",
                entry("", "POST", "Observation", observation),
                entry(urn, "POST", "Patient", patient("order")),
                entry("", "GET", "Patient?identifier=urn:test%7Corder", ""))
            .statusCode(200)
            .body("type", equalTo("transaction-response"))
            .body("entry[0].response.status", startsWith("201"))
            .body("entry[0].resource", nullValue())
            .body("entry[1].response.location", startsWith("Patient/"))
            .body("entry[2].resource.entry", hasSize(1))
            .extract()
            .jsonPath();
    String location = answer.getString("entry[0].response.location");
    String patient = answer.getString("entry[2].resource.entry[0].resource.id");
    given()
        .get("/fhir/" + location)
        .then()
        .statusCode(200)
        .body("subject.reference", equalTo("Patient/" + patient))
        .body("note[0].text", equalTo("about " + urn));
  }

  @Test
  void case23AnInvalidEntryKeepsEverythingOutAndIsNamed() {
    send(
            "transaction",
            entry("", "POST", "Patient", patient("nothing")),
            entry(
                "",
                "PUT",
                "Patient/nothing-2",
                "{\"resourceType\":\"Patient\",\"id\":\"nothing-2\"}"),
            entry(
                "",
                "POST",
                "Observation",
                Fhir.observation("absent", "72514-3", "2026-01-01", "3")))
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("Bundle.entry[2].resource.subject"))
        .body("issue[0].details.coding[0].code", equalTo("unknown-reference"));
    send(
            "transaction",
            entry("", "POST", "Patient", patient("nothing")),
            entry("", "POST", "Patient", patient("nothing")),
            entry(
                "",
                "POST",
                "Patient",
                "{\"resourceType\":\"Patient\",\"nmae\":[]}".replace("[]", "[{}]")))
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("Bundle.entry[2].resource.nmae"));
    given()
        .queryParam("identifier", "nothing")
        .get("/fhir/Patient")
        .then()
        .body("total", equalTo(0));
    given().get("/fhir/Patient/nothing-2").then().statusCode(404);
  }

  @Test
  void anIdentifierLongerThanIsFoundByIsNamedByItsEntry() {
    send(
            "transaction",
            entry("", "POST", "Patient", patient("short")),
            entry("", "POST", "Patient", patient("n".repeat(500))))
        .statusCode(422)
        .body("issue[0].expression[0]", startsWith("Bundle.entry[1].resource"));
  }

  @Test
  void case26AConditionalCreateThatMatchesPointsToWhatExists() {
    String urn = "urn:uuid:0b1a3f7e-0f10-4f0a-9d0e-1f2a3b4c5d6e";
    String create =
        "{\"fullUrl\":\"%s\",\"resource\":%s,\"request\":{\"method\":\"POST\",\"url\":\"Patient\",\"ifNoneExist\":\"identifier=urn:test|again\"}}"
            .formatted(urn, patient("again"));
    String observation =
        Fhir.observation("x", "72514-3", "2026-01-01", "3")
            .replace("\"Patient/x\"", "\"" + urn + "\"");
    send("transaction", create, entry("", "POST", "Observation", observation))
        .statusCode(200)
        .body("entry[0].response.status", startsWith("201"));
    send("transaction", create, entry("", "POST", "Observation", observation))
        .statusCode(200)
        .body("entry[0].response.status", startsWith("200"));
    String id =
        given()
            .queryParam("identifier", "urn:test|again")
            .get("/fhir/Patient")
            .then()
            .body("total", equalTo(1))
            .extract()
            .path("entry[0].resource.id");
    given().queryParam("patient", id).get("/fhir/Observation").then().body("total", equalTo(2));
  }

  @Test
  void case25AConditionalReferenceMustMatchOne() {
    String observation =
        Fhir.observation("x", "72514-3", "2026-01-01", "3")
            .replace("\"Patient/x\"", "\"Patient?identifier=urn:test|cond\"");
    send("transaction", entry("", "POST", "Observation", observation))
        .statusCode(412)
        .body("issue[0].expression", hasItem("Bundle.entry[0].resource.subject"));
    send("transaction", entry("", "POST", "Patient", patient("cond"))).statusCode(200);
    send("transaction", entry("", "POST", "Observation", observation)).statusCode(200);
    send("transaction", entry("", "POST", "Patient", patient("cond"))).statusCode(200);
    send("transaction", entry("", "POST", "Observation", observation))
        .statusCode(412)
        .body("issue[0].details.coding[0].code", equalTo("multiple-matches"));
  }

  @Test
  void case27ABatchStoresTheGoodEntriesAndReportsTheBadOne() {
    send(
            "batch",
            entry(
                "", "PUT", "Patient/batch-1", "{\"resourceType\":\"Patient\",\"id\":\"batch-1\"}"),
            entry("", "POST", "Observation", Fhir.observation("absent", "1", "2026-01-01", "3")),
            entry("", "GET", "Patient/batch-1", ""))
        .statusCode(200)
        .body("type", equalTo("batch-response"))
        .body("entry[0].response.status", startsWith("201"))
        .body("entry[1].response.status", equalTo("422"))
        .body("entry[1].response.outcome.issue[0].expression[0]", startsWith("Bundle.entry[1]"))
        .body("entry[2].resource.id", equalTo("batch-1"));
  }

  @Test
  void whatIsNotATransactionOrBatchIsRefused() {
    send("collection", entry("", "POST", "Patient", patient("none"))).statusCode(400);
    send("transaction", entry("", "DELETE", "CarePlan/x", "")).statusCode(405);
    send("transaction", entry("", "POST", "Encounter", patient("none"))).statusCode(404);
    send("transaction", entry("", "POST", "Observation", patient("none")))
        .statusCode(400)
        .body("issue[0].expression[0]", equalTo("Bundle.entry[0].resource"));
  }
}
