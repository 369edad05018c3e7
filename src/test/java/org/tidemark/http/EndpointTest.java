package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.hamcrest.Matchers.hasItems;
import static org.hamcrest.Matchers.hasSize;
import static org.hamcrest.Matchers.not;
import static org.hamcrest.Matchers.nullValue;
import static org.hamcrest.Matchers.startsWith;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/** Reading, writing and searching single records over HTTP. */
@QuarkusTest
class EndpointTest {

  @Test
  void case18And20APatientIsCreatedReadAndUpdatedWithItsVersions() {
    String id =
        given()
            .contentType(Fhir.JSON)
            .body(
                "{\"resourceType\":\"Patient\",\"name\":[{\"family\":\"Øster\",\"given\":[\"Ines 🦵\"]}]}")
            .post("/fhir/Patient")
            .then()
            .statusCode(201)
            .header("Location", startsWith("http://localhost:8081/fhir/Patient/"))
            .header("ETag", "W/\"1\"")
            .body("meta.versionId", equalTo("1"))
            .extract()
            .path("id");
    given()
        .contentType(Fhir.JSON)
        .header("If-Match", "W/\"1\"")
        .body("{\"resourceType\":\"Patient\",\"id\":\"" + id + "\",\"active\":true}")
        .put("/fhir/Patient/" + id)
        .then()
        .statusCode(200)
        .header("ETag", "W/\"2\"");
    given().get("/fhir/Patient/" + id).then().statusCode(200).body("active", equalTo(true));
    given()
        .get("/fhir/Patient/" + id + "/_history/1")
        .then()
        .statusCode(200)
        .header("ETag", "W/\"1\"")
        .body("name[0].given[0]", equalTo("Ines 🦵"))
        .body("active", nullValue());
    given()
        .contentType(Fhir.JSON)
        .header("If-Match", "W/\"1\"")
        .body("{\"resourceType\":\"Patient\",\"id\":\"" + id + "\",\"active\":false}")
        .put("/fhir/Patient/" + id)
        .then()
        .statusCode(412)
        .body("issue[0].details.coding[0].code", equalTo("version-conflict"));
    given().get("/fhir/Patient/" + id).then().body("meta.versionId", equalTo("2"));
    for (String tag : new String[] {"W/\"2\"", "\"2\""}) {
      given().header("If-None-Match", tag).get("/fhir/Patient/" + id).then().statusCode(304);
    }
    given()
        .contentType(Fhir.JSON)
        .header("If-Match", "\"2\"")
        .body("{\"resourceType\":\"Patient\",\"id\":\"" + id + "\",\"active\":false}")
        .put("/fhir/Patient/" + id)
        .then()
        .statusCode(200)
        .header("ETag", "W/\"3\"");
  }

  @Test
  void aRecordCanBeCreatedUnderAnIdOfTheClient() {
    Fhir.put("Patient", "own-id", "").statusCode(201);
    Fhir.put("Patient", "own-id", "").statusCode(200);
  }

  @Test
  void case21TheClientChoosesWhatAWriteAnswers() {
    given()
        .contentType(Fhir.JSON)
        .header("Prefer", "return=minimal")
        .body("{\"resourceType\":\"Patient\"}")
        .post("/fhir/Patient")
        .then()
        .statusCode(201)
        .body(equalTo(""));
    given()
        .contentType(Fhir.JSON)
        .header("Prefer", "return=OperationOutcome")
        .body("{\"resourceType\":\"Patient\"}")
        .post("/fhir/Patient")
        .then()
        .statusCode(201)
        .body("resourceType", equalTo("OperationOutcome"));
    given()
        .contentType(Fhir.JSON)
        .header("Prefer", "return=representation")
        .body("{\"resourceType\":\"Patient\",\"active\":true}")
        .post("/fhir/Patient")
        .then()
        .statusCode(201)
        .body("active", equalTo(true));
  }

  @Test
  void case06XmlIsReadAndWrittenAndFormatGoesBeforeAccept() {
    given()
        .contentType(Fhir.XML)
        .accept(Fhir.XML)
        .body(
            "<Patient xmlns=\"http://hl7.org/fhir\"><id value=\"xml-1\"/><text><status value=\"generated\"/>"
                + "<div xmlns=\"http://www.w3.org/1999/xhtml\"><p>Ines</p></div></text>"
                + "<birthDate value=\"1990-02-03\"/></Patient>")
        .put("/fhir/Patient/xml-1")
        .then()
        .statusCode(201)
        .contentType(containsString("application/fhir+xml"))
        .body("Patient.birthDate.@value", equalTo("1990-02-03"));
    given()
        .queryParam("_format", "xml")
        .accept(Fhir.JSON)
        .get("/fhir/Patient/xml-1")
        .then()
        .contentType(containsString("application/fhir+xml"));
  }

  /** The digits of a decimal say how exact it is (FHIR R4, decimal). */
  @ParameterizedTest
  @ValueSource(strings = {"5.10", "0.700", "-1.50", "123456789012345678"})
  void case11DecimalsKeepTheirDigits(String digits) {
    Fhir.put("Patient", "digits", "");
    String id =
        Fhir.post(Fhir.observation("digits", "8302-2", "2026-01-01", digits))
            .statusCode(201)
            .extract()
            .path("id");
    String stored = given().get("/fhir/Observation/" + id).asString();
    assertTrue(stored.contains("\"value\":" + digits + ","), stored);
  }

  /** An exponent is read; the number is written without one. */
  @ParameterizedTest
  @CsvSource({"1.2E+2, 120", "100e-1, 10.0", "-0, 0", "-0.0, 0.0"})
  void case11AnExponentAndANegativeZeroAreRead(String sent, String stored) {
    Fhir.put("Patient", "digits", "");
    String text =
        Fhir.post(Fhir.observation("digits", "8302-2", "2026-01-01", sent))
            .statusCode(201)
            .extract()
            .asString();
    assertTrue(text.contains("\"value\":" + stored + ","), text);
  }

  @Test
  void case39TheSameReferenceIsFoundInAnyForm() {
    Fhir.put("Patient", "forms", "").statusCode(201);
    Fhir.post(Fhir.observation("forms", "72514-3", "2026-01-01", "3")).statusCode(201);
    for (String form :
        new String[] {"forms", "Patient/forms", "http://localhost:8081/fhir/Patient/forms"}) {
      given()
          .queryParam("patient", form)
          .get("/fhir/Observation")
          .then()
          .statusCode(200)
          .body("entry", hasSize(1))
          .body("total", equalTo(1));
    }
    given()
        .queryParam("subject:Patient", "forms")
        .get("/fhir/Observation")
        .then()
        .body("entry", hasSize(1));
    given()
        .contentType("application/x-www-form-urlencoded")
        .formParam("subject", "Patient/forms")
        .post("/fhir/Observation/_search")
        .then()
        .statusCode(200)
        .body("entry", hasSize(1));
  }

  @Test
  void case39ASubjectMayLiveInAnotherRecordSystem() {
    String foreign = "https://records.example/fhir/Patient/1";
    Fhir.post(
            Fhir.observation("x", "72514-3", "2026-01-01", "3")
                .replace("\"Patient/x\"", "\"" + foreign + "\""))
        .statusCode(201);
    given()
        .queryParam("patient", foreign)
        .get("/fhir/Observation")
        .then()
        .body("entry", hasSize(1))
        .body("entry[0].resource.subject.reference", equalTo(foreign));
    given().queryParam("patient", "1").get("/fhir/Observation").then().body("entry", nullValue());
  }

  @Test
  void case38CodesAreFoundWithAndWithoutTheirSystem() {
    Fhir.put("Patient", "tokens", "").statusCode(201);
    Fhir.post(Fhir.observation("tokens", "72514-3", "2026-01-01", "3")).statusCode(201);
    Fhir.post(Fhir.observation("tokens", "8867-4", "2026-01-02", "90")).statusCode(201);
    expectFound("72514-3", 1);
    expectFound("http://loinc.org|72514-3", 1);
    expectFound("http://loinc.org|", 2);
    expectFound("|72514-3", 0);
    expectFound("72514-3,8867-4", 2);
    expectFound("http://other.example|72514-3", 0);
  }

  private static void expectFound(String code, int count) {
    given()
        .queryParam("patient", "tokens")
        .queryParam("code", code)
        .get("/fhir/Observation")
        .then()
        .statusCode(200)
        .body("total", equalTo(count));
  }

  @Test
  void theNewestComesFirstAndPagesNeitherRepeatNorSkip() {
    Fhir.put("Patient", "pages", "").statusCode(201);
    for (int day = 10; day < 19; day++) {
      Fhir.post(Fhir.observation("pages", "72514-3", "2026-01-" + day, "3")).statusCode(201);
    }
    java.util.List<String> dates = new java.util.ArrayList<>();
    String url = "http://localhost:8081/fhir/Observation?patient=pages&_count=4&_sort=-date";
    for (int page = 0; page < 3; page++) {
      io.restassured.path.json.JsonPath bundle =
          given().urlEncodingEnabled(false).get(url).jsonPath();
      org.junit.jupiter.api.Assertions.assertNull(bundle.get("total"));
      dates.addAll(bundle.getList("entry.resource.effectiveDateTime"));
      url = bundle.getString("link.find { it.relation == 'next' }.url");
    }
    org.junit.jupiter.api.Assertions.assertNull(url);
    given()
        .urlEncodingEnabled(false)
        .get("http://localhost:8081/fhir/Observation?patient=pages&_count=4&_total=accurate")
        .then()
        .body("total", equalTo(9));
    org.junit.jupiter.api.Assertions.assertEquals(
        java.util.stream.IntStream.rangeClosed(1, 9).mapToObj(i -> "2026-01-" + (19 - i)).toList(),
        dates);
  }

  @Test
  void case31And32AParameterThatIsNotDeclaredIsRefused() {
    given()
        .queryParam("patinet", "x")
        .get("/fhir/Observation")
        .then()
        .statusCode(400)
        .body("issue[0].details.coding[0].code", equalTo("unknown-parameter"));
    given().queryParam("_include", "*").get("/fhir/CarePlan").then().statusCode(400);
    given().queryParam("code:text", "x").get("/fhir/Observation").then().statusCode(400);
  }

  @Test
  void case13UnknownRecordsTypesAndVersionsAreNotFound() {
    given()
        .get("/fhir/Patient/absent")
        .then()
        .statusCode(404)
        .body("resourceType", equalTo("OperationOutcome"));
    given().get("/fhir/Patient/absent/_history/1").then().statusCode(404);
    given()
        .get("/fhir/Nonsense/1")
        .then()
        .statusCode(404)
        .body("resourceType", equalTo("OperationOutcome"));
    given().get("/fhir/Encounter/1").then().statusCode(404);
    given().get("/fhir/CodeSystem/absent").then().statusCode(404);
  }

  @Test
  void theCapabilityStatementClaimsWhatIsThere() {
    given()
        .get("/fhir/metadata")
        .then()
        .statusCode(200)
        .body(
            "rest[0].resource.type",
            hasItems("Patient", "CarePlan", "CodeSystem", "OperationDefinition"))
        .body("rest[0].resource.searchInclude.flatten()", not(hasItem("*")))
        .body(
            "rest[0].resource.find { it.type == 'Observation' }.searchParam.name",
            hasItems("_id", "patient", "subject", "code", "category", "date", "status"));
  }
}
