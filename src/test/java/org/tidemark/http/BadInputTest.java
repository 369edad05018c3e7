package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.not;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.restassured.response.ValidatableResponse;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpRequest.BodyPublishers;
import java.net.http.HttpResponse;
import java.net.http.HttpResponse.BodyHandlers;
import java.nio.charset.StandardCharsets;
import java.util.Collections;
import java.util.stream.Stream;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.Arguments;
import org.junit.jupiter.params.provider.MethodSource;
import org.junit.jupiter.params.provider.ValueSource;

/** What is refused, with which status, and what the OperationOutcome names. */
@QuarkusTest
class BadInputTest {

  private static ValidatableResponse post(String type, String body) {
    return given().contentType(Fhir.JSON).body(body).post("/fhir/" + type).then();
  }

  static Stream<Arguments> bodies() {
    return Stream.of(
        Arguments.of(
            "truncated", 400, "malformed", null, "Patient", "{\"resourceType\":\"Patient\","),
        Arguments.of("not an object", 400, "malformed", null, "Patient", "[]"),
        Arguments.of("no type", 400, "malformed", null, "Patient", "{\"active\":true}"),
        Arguments.of(
            "goes on", 400, "malformed", null, "Patient", "{\"resourceType\":\"Patient\"} {}"),
        Arguments.of(
            "key twice",
            400,
            "malformed",
            null,
            "Patient",
            "{\"resourceType\":\"Patient\",\"active\":true,\"active\":false}"),
        Arguments.of(
            "NaN",
            400,
            "malformed",
            null,
            "Patient",
            "{\"resourceType\":\"Patient\",\"active\":NaN}"),
        Arguments.of(
            "unknown type",
            400,
            "malformed",
            "Nonsense",
            "Patient",
            "{\"resourceType\":\"Nonsense\"}"),
        Arguments.of("empty type", 400, "malformed", null, "Patient", "{\"resourceType\":\"\"}"),
        Arguments.of(
            "empty type inside",
            400,
            "malformed",
            "Patient.id",
            "Patient",
            "{\"resourceType\":\"Patient\",\"id\":{\"resourceType\":\"\"}}"),
        Arguments.of(
            "other type",
            400,
            "mismatch",
            "Goal",
            "Patient",
            "{\"resourceType\":\"Goal\",\"lifecycleStatus\":\"active\",\"description\":{\"text\":\"x\"},\"subject\":{\"display\":\"x\"}}"),
        Arguments.of(
            "unknown element",
            422,
            "unknown-element",
            "Patient.contact[0].nmae",
            "Patient",
            "{\"resourceType\":\"Patient\",\"contact\":[{\"nmae\":{\"text\":\"x\"}}]}"),
        Arguments.of(
            "list for one",
            422,
            "wrong-shape",
            "Patient.birthDate",
            "Patient",
            "{\"resourceType\":\"Patient\",\"birthDate\":[\"1990-01-01\"]}"),
        Arguments.of(
            "text for a flag",
            422,
            "wrong-shape",
            "Patient.active",
            "Patient",
            "{\"resourceType\":\"Patient\",\"active\":\"true\"}"),
        Arguments.of(
            "no such day",
            422,
            "invalid-value",
            "Patient.birthDate",
            "Patient",
            "{\"resourceType\":\"Patient\",\"birthDate\":\"1990-02-31\"}"),
        Arguments.of(
            "no such code",
            422,
            "invalid-value",
            "Patient.gender",
            "Patient",
            "{\"resourceType\":\"Patient\",\"gender\":\"knee\"}"),
        Arguments.of(
            "missing",
            422,
            "missing",
            "Observation.status",
            "Observation",
            "{\"resourceType\":\"Observation\",\"code\":{\"text\":\"x\"}}"),
        Arguments.of(
            "implicit rules",
            422,
            "unsupported",
            "Patient.implicitRules",
            "Patient",
            "{\"resourceType\":\"Patient\",\"implicitRules\":\"https://rules.example/x\"}"),
        Arguments.of(
            "modifier at the root",
            422,
            "unsupported",
            "Patient.modifierExtension[0]",
            "Patient",
            "{\"resourceType\":\"Patient\",\"modifierExtension\":[{\"url\":\"https://x.example\",\"valueBoolean\":true}]}"),
        Arguments.of(
            "modifier inside",
            422,
            "unsupported",
            "Patient.contact[0].modifierExtension[0]",
            "Patient",
            "{\"resourceType\":\"Patient\",\"contact\":[{\"modifierExtension\":[{\"url\":\"https://x.example\",\"valueBoolean\":true}]}]}"),
        Arguments.of(
            "modifier in a contained resource",
            422,
            "unsupported",
            "Patient.contained[0].modifierExtension[0]",
            "Patient",
            "{\"resourceType\":\"Patient\",\"contained\":[{\"resourceType\":\"Organization\",\"id\":\"o\",\"modifierExtension\":[{\"url\":\"https://x.example\",\"valueBoolean\":true}]}]}"),
        Arguments.of(
            "NUL",
            422,
            "bad-character",
            "Patient.name[0].family",
            "Patient",
            "{\"resourceType\":\"Patient\",\"name\":[{\"family\":\"a\\u0000b\"}]}"),
        Arguments.of(
            "bell",
            422,
            "bad-character",
            "Patient.name[0].family",
            "Patient",
            "{\"resourceType\":\"Patient\",\"name\":[{\"family\":\"a\\u0007b\"}]}"),
        Arguments.of(
            "half a pair",
            422,
            "bad-character",
            "Patient.name[0].family",
            "Patient",
            "{\"resourceType\":\"Patient\",\"name\":[{\"family\":\"a\\ud83dz\"}]}"),
        Arguments.of(
            "1e400",
            422,
            "out-of-range",
            "Observation.value.value",
            "Observation",
            Fhir.observation("x", "72514-3", "2026-01-01", "1e400")),
        Arguments.of(
            "19 digits",
            422,
            "out-of-range",
            "Observation.value.value",
            "Observation",
            Fhir.observation("x", "72514-3", "2026-01-01", "1.234567890123456789")),
        Arguments.of(
            "time without zone",
            422,
            "invalid-value",
            "Observation.effective",
            "Observation",
            Fhir.observation("x", "72514-3", "2026-01-01T10:00:00", "3")),
        Arguments.of(
            "absent patient",
            422,
            "unknown-reference",
            "Observation.subject",
            "Observation",
            Fhir.observation("absent", "72514-3", "2026-01-01", "3")));
  }

  @ParameterizedTest(name = "{0}: {1} {2}")
  @MethodSource("bodies")
  void aBadBodyIsRefusedAndItsElementNamed(
      String name, int status, String code, String expression, String type, String body) {
    post(type, body)
        .statusCode(status)
        .body("resourceType", equalTo("OperationOutcome"))
        .body("issue[0].severity", equalTo("error"))
        .body("issue[0].details.coding[0].code", equalTo(code))
        .body(
            "issue[0].expression",
            expression == null
                ? org.hamcrest.Matchers.nullValue()
                : equalTo(java.util.List.of(expression)))
        .body(not(containsString("Exception")))
        .body(not(containsString("org.")));
  }

  /** By the JDK's client: REST Assured itself takes seconds over such a body. */
  @Test
  void deepNestingIsMalformedAndQuick() throws Exception {
    String deep = "{\"extension\":[".repeat(2000) + "1" + "]}".repeat(2000);
    String body = "{\"resourceType\":\"Patient\",\"extension\":[" + deep + "]}";
    assertEquals(400, send(BodyPublishers.ofString(body)).statusCode());
    long start = System.nanoTime();
    HttpResponse<String> answer = send(BodyPublishers.ofString(body));
    assertTrue(System.nanoTime() - start < 1_000_000_000L);
    assertEquals(400, answer.statusCode());
    assertTrue(answer.body().contains("nests more than 200 deep"), answer.body());
  }

  @Test
  void aBodyOfUntoldLengthIsCountedWhileItIsRead() throws Exception {
    byte[] chunk = " ".repeat(1 << 20).getBytes(StandardCharsets.UTF_8);
    HttpResponse<String> answer = send(BodyPublishers.ofByteArrays(Collections.nCopies(17, chunk)));
    assertEquals(413, answer.statusCode());
    assertTrue(answer.body().contains("too-large"), answer.body());
  }

  private static HttpResponse<String> send(HttpRequest.BodyPublisher body) throws Exception {
    return HttpClient.newHttpClient()
        .send(
            HttpRequest.newBuilder(URI.create("http://localhost:8081/fhir/Patient"))
                .header("Content-Type", "application/fhir+json")
                .POST(body)
                .build(),
            BodyHandlers.ofString());
  }

  @Test
  void badXmlIsMalformedAndNoEntityIsRead() {
    for (String body :
        new String[] {
          "<Patient xmlns=\"http://hl7.org/fhir\"><active",
          "<!DOCTYPE Patient [<!ENTITY f SYSTEM \"file:///etc/hostname\">]>"
              + "<Patient xmlns=\"http://hl7.org/fhir\"><language value=\"&f;\"/></Patient>",
          "<Patient><active value=\"true\"/></Patient>",
          "<Patient xmlns=\"http://hl7.org/fhir\">"
              + "<extension url=\"u\">".repeat(300)
              + "</extension>".repeat(300)
              + "</Patient>"
        }) {
      given()
          .contentType(Fhir.XML)
          .accept(Fhir.XML)
          .body(body)
          .post("/fhir/Patient")
          .then()
          .statusCode(400)
          .contentType(containsString("application/fhir+xml"))
          .body("OperationOutcome.issue.details.coding.code.@value", equalTo("malformed"));
    }
    given()
        .contentType(Fhir.XML)
        .accept(Fhir.JSON)
        .body("<Patient xmlns=\"http://hl7.org/fhir\"><nmae value=\"x\"/></Patient>")
        .post("/fhir/Patient")
        .then()
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("Patient.nmae"));
  }

  @Test
  void anUpdateUnderAnotherIdIsRefused() {
    given()
        .contentType(Fhir.JSON)
        .body("{\"resourceType\":\"Patient\",\"id\":\"other\"}")
        .put("/fhir/Patient/one")
        .then()
        .statusCode(400)
        .body("resourceType", equalTo("OperationOutcome"));
    given()
        .contentType(Fhir.JSON)
        .body("{\"resourceType\":\"Patient\"}")
        .put("/fhir/Patient/one")
        .then()
        .statusCode(400);
  }

  @Test
  void formatsThatAreNotOfferedAreRefused() {
    given()
        .contentType("text/plain")
        .body("{\"resourceType\":\"Patient\"}")
        .post("/fhir/Patient")
        .then()
        .statusCode(415)
        .body("resourceType", equalTo("OperationOutcome"));
    given()
        .accept("application/pdf")
        .get("/fhir/Patient")
        .then()
        .statusCode(406)
        .body("resourceType", equalTo("OperationOutcome"));
    given().queryParam("_format", "pdf").get("/fhir/Patient").then().statusCode(406);
  }

  @Test
  void aBodyOverTheLimitIsTooLarge() {
    String body =
        "{\"resourceType\":\"Patient\",\"name\":[{\"text\":\"" + "x".repeat(17 << 20) + "\"}]}";
    post("Patient", body)
        .statusCode(413)
        .body("issue[0].code", equalTo("too-long"))
        .body("issue[0].details.coding[0].code", equalTo("too-large"));
  }

  @Test
  void aLongTextIsKeptByteForByte() {
    String text = "Ünï 🦵 e\\u0301 שלום ".repeat(50_000);
    String id =
        post(
                "Patient",
                "{\"resourceType\":\"Patient\",\"name\":[{\"text\":\"" + text.strip() + "\"}]}")
            .statusCode(201)
            .extract()
            .path("id");
    given()
        .get("/fhir/Patient/" + id)
        .then()
        .body("name[0].text", equalTo(text.strip().replace("\\u0301", "\u0301")));
  }

  @Test
  void anOrdinaryExtensionIsKept() {
    post(
            "Patient",
            "{\"resourceType\":\"Patient\",\"extension\":[{\"url\":\"https://x.example/e\",\"valueString\":\"kept\"}],"
                + "\"_birthDate\":{\"extension\":[{\"url\":\"https://x.example/f\",\"valueInteger\":7}]}}")
        .statusCode(201)
        .body("extension[0].valueString", equalTo("kept"))
        .body("_birthDate.extension[0].valueInteger", equalTo(7));
  }

  @Test
  void aMistypedIdentifierInAConditionIsRefused() {
    given()
        .contentType(Fhir.JSON)
        .header("If-None-Exist", "name=x")
        .body("{\"resourceType\":\"Patient\"}")
        .post("/fhir/Patient")
        .then()
        .statusCode(400)
        .body("issue[0].expression[0]", equalTo("If-None-Exist"));
  }

  /** FHIR R4, narrative (txt-1): no script, no event handler, no active content. */
  @ParameterizedTest
  @ValueSource(
      strings = {
        "<script>alert(1)</script>",
        "<p onload='alert(1)'>x</p>",
        "<a href=' javascript:alert(1)'>x</a>",
        "<iframe src='https://elsewhere.example'></iframe>"
      })
  void activeContentInANarrativeIsRefused(String content) {
    for (String type : new String[] {"Observation", "Patient"}) {
      String more =
          type.equals("Patient") ? "" : ",\"status\":\"final\",\"code\":{\"text\":\"Note\"}";
      given()
          .contentType(Fhir.JSON)
          .body(
              "{\"resourceType\":\""
                  + type
                  + "\",\"text\":{\"status\":\"generated\",\"div\":\"<div xmlns='http://www.w3.org/1999/xhtml'>"
                  + content
                  + "</div>\"}"
                  + more
                  + "}")
          .post("/fhir/" + type)
          .then()
          .statusCode(422)
          .body("resourceType", equalTo("OperationOutcome"));
    }
  }
}
