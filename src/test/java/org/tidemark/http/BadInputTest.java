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
import java.util.Arrays;
import java.util.Collections;
import java.util.List;
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

  /** A Patient that contains a Practitioner with these members, and refers to #p. */
  private static String contained(String members) {
    return "{\"resourceType\":\"Patient\",\"contained\":[{\"resourceType\":\"Practitioner\","
        + members
        + "}],\"generalPractitioner\":[{\"reference\":\"#p\"}]}";
  }

  static Stream<Arguments> bodies() {
    return Stream.of(
        Arguments.of(
            "case 1, truncated",
            400,
            "malformed",
            null,
            "Patient",
            "{\"resourceType\":\"Patient\","),
        Arguments.of("case 1, not an object", 400, "malformed", null, "Patient", "[]"),
        Arguments.of("case 1, no type", 400, "malformed", null, "Patient", "{\"active\":true}"),
        Arguments.of(
            "case 1, goes on",
            400,
            "malformed",
            null,
            "Patient",
            "{\"resourceType\":\"Patient\"} {}"),
        Arguments.of(
            "case 7, key twice",
            400,
            "malformed",
            null,
            "Patient",
            "{\"resourceType\":\"Patient\",\"active\":true,\"active\":false}"),
        Arguments.of(
            "case 7, NaN",
            400,
            "malformed",
            null,
            "Patient",
            "{\"resourceType\":\"Patient\",\"active\":NaN}"),
        Arguments.of(
            "case 12, unknown type",
            400,
            "malformed",
            "Nonsense",
            "Patient",
            "{\"resourceType\":\"Nonsense\"}"),
        Arguments.of(
            "case 12, empty type", 400, "malformed", null, "Patient", "{\"resourceType\":\"\"}"),
        Arguments.of(
            "case 12, empty type inside",
            400,
            "malformed",
            "Patient.id",
            "Patient",
            "{\"resourceType\":\"Patient\",\"id\":{\"resourceType\":\"\"}}"),
        Arguments.of(
            "case 12, other type",
            400,
            "mismatch",
            "Goal",
            "Patient",
            "{\"resourceType\":\"Goal\",\"lifecycleStatus\":\"active\",\"description\":{\"text\":\"x\"},\"subject\":{\"display\":\"x\"}}"),
        Arguments.of(
            "case 7, unknown element",
            422,
            "unknown-element",
            "Patient.contact[0].nmae",
            "Patient",
            "{\"resourceType\":\"Patient\",\"contact\":[{\"nmae\":{\"text\":\"x\"}}]}"),
        Arguments.of(
            "case 7, list for one",
            422,
            "wrong-shape",
            "Patient.birthDate",
            "Patient",
            "{\"resourceType\":\"Patient\",\"birthDate\":[\"1990-01-01\"]}"),
        Arguments.of(
            "case 7, text for a flag",
            422,
            "wrong-shape",
            "Patient.active",
            "Patient",
            "{\"resourceType\":\"Patient\",\"active\":\"true\"}"),
        Arguments.of(
            "case 7, no such day",
            422,
            "invalid-value",
            "Patient.birthDate",
            "Patient",
            "{\"resourceType\":\"Patient\",\"birthDate\":\"1990-02-31\"}"),
        Arguments.of(
            "case 7, no such code",
            422,
            "invalid-value",
            "Patient.gender",
            "Patient",
            "{\"resourceType\":\"Patient\",\"gender\":\"knee\"}"),
        Arguments.of(
            "case 7, missing",
            422,
            "missing",
            "Observation.status",
            "Observation",
            "{\"resourceType\":\"Observation\",\"code\":{\"text\":\"x\"}}"),
        Arguments.of(
            "case 49, implicit rules",
            422,
            "unsupported",
            "Patient.implicitRules",
            "Patient",
            "{\"resourceType\":\"Patient\",\"implicitRules\":\"https://rules.example/x\"}"),
        Arguments.of(
            "case 48, modifier at the root",
            422,
            "unsupported",
            "Patient.modifierExtension[0]",
            "Patient",
            "{\"resourceType\":\"Patient\",\"modifierExtension\":[{\"url\":\"https://x.example\",\"valueBoolean\":true}]}"),
        Arguments.of(
            "case 48, modifier inside",
            422,
            "unsupported",
            "Patient.contact[0].modifierExtension[0]",
            "Patient",
            "{\"resourceType\":\"Patient\",\"contact\":[{\"modifierExtension\":[{\"url\":\"https://x.example\",\"valueBoolean\":true}]}]}"),
        Arguments.of(
            "case 48, modifier in a contained resource",
            422,
            "unsupported",
            "Patient.contained[0].modifierExtension[0]",
            "Patient",
            "{\"resourceType\":\"Patient\",\"contained\":[{\"resourceType\":\"Organization\",\"id\":\"o\",\"modifierExtension\":[{\"url\":\"https://x.example\",\"valueBoolean\":true}]}]}"),
        Arguments.of(
            "case 8, NUL",
            422,
            "bad-character",
            "Patient.name[0].family",
            "Patient",
            "{\"resourceType\":\"Patient\",\"name\":[{\"family\":\"a\\u0000b\"}]}"),
        Arguments.of(
            "case 8, bell",
            422,
            "bad-character",
            "Patient.name[0].family",
            "Patient",
            "{\"resourceType\":\"Patient\",\"name\":[{\"family\":\"a\\u0007b\"}]}"),
        Arguments.of(
            "case 8, half a pair",
            422,
            "bad-character",
            "Patient.name[0].family",
            "Patient",
            "{\"resourceType\":\"Patient\",\"name\":[{\"family\":\"a\\ud83dz\"}]}"),
        Arguments.of(
            "case 10, 1e400",
            422,
            "out-of-range",
            "Observation.value.value",
            "Observation",
            Fhir.observation("x", "72514-3", "2026-01-01", "1e400")),
        Arguments.of(
            "case 10, 19 digits",
            422,
            "out-of-range",
            "Observation.value.value",
            "Observation",
            Fhir.observation("x", "72514-3", "2026-01-01", "1.234567890123456789")),
        Arguments.of(
            "case 10, 40 digits",
            422,
            "out-of-range",
            "Observation.value.value",
            "Observation",
            Fhir.observation(
                "x", "72514-3", "2026-01-01", "1.234567890123456789012345678901234567890")),
        Arguments.of(
            "case 48, modifier in a component",
            422,
            "unsupported",
            "Observation.component[0].modifierExtension[0]",
            "Observation",
            "{\"resourceType\":\"Observation\",\"status\":\"final\",\"code\":{\"text\":\"x\"},\"component\":[{\"code\":{\"text\":\"x\"},\"modifierExtension\":[{\"url\":\"https://x.example\",\"valueBoolean\":true}]}]}"),
        Arguments.of(
            "case 48, modifier in an activity",
            422,
            "unsupported",
            "CarePlan.activity[0].modifierExtension[0]",
            "CarePlan",
            "{\"resourceType\":\"CarePlan\",\"status\":\"active\",\"intent\":\"plan\",\"subject\":{\"display\":\"x\"},\"activity\":[{\"modifierExtension\":[{\"url\":\"https://x.example\",\"valueBoolean\":true}]}]}"),
        Arguments.of(
            "case 51, a contained resource without an id",
            422,
            "missing",
            "Patient.contained[0].id",
            "Patient",
            contained("\"active\":true")),
        Arguments.of(
            "case 51, a contained resource in another (dom-2)",
            422,
            "not-valid",
            "Patient.contained[0].contained",
            "Patient",
            contained(
                "\"id\":\"p\",\"contained\":[{\"resourceType\":\"Organization\",\"id\":\"o\"}]")),
        Arguments.of(
            "case 51, a contained resource with a version (dom-4)",
            422,
            "not-valid",
            "Patient.contained[0].meta.versionId",
            "Patient",
            contained("\"id\":\"p\",\"meta\":{\"versionId\":\"3\"}")),
        Arguments.of(
            "case 51, a contained resource with a label (dom-5)",
            422,
            "not-valid",
            "Patient.contained[0].meta.security",
            "Patient",
            contained("\"id\":\"p\",\"meta\":{\"security\":[{\"code\":\"R\"}]}")),
        Arguments.of(
            "case 51, a contained resource that nothing refers to (dom-3)",
            422,
            "not-valid",
            "Patient.contained[0]",
            "Patient",
            "{\"resourceType\":\"Patient\",\"contained\":[{\"resourceType\":\"Practitioner\",\"id\":\"p\"}]}"),
        Arguments.of(
            "case 51, a reference to what is not contained",
            422,
            "unknown-reference",
            "Patient.generalPractitioner[0]",
            "Patient",
            "{\"resourceType\":\"Patient\",\"generalPractitioner\":[{\"reference\":\"#p\"}]}"),
        Arguments.of(
            "case 52, null for nothing",
            422,
            "wrong-shape",
            "Patient.name[0].given[0]",
            "Patient",
            "{\"resourceType\":\"Patient\",\"name\":[{\"given\":[null]}]}"),
        Arguments.of(
            "case 52, what stands beside an array that is not there",
            400,
            "malformed",
            null,
            "Patient",
            "{\"resourceType\":\"Patient\",\"name\":[{\"_given\":[{\"id\":\"x\"}]}]}"),
        Arguments.of(
            "case 7, time without zone",
            422,
            "invalid-value",
            "Observation.effective",
            "Observation",
            Fhir.observation("x", "72514-3", "2026-01-01T10:00:00", "3")),
        Arguments.of(
            "case 30, absent patient",
            422,
            "unknown-reference",
            "Observation.subject",
            "Observation",
            Fhir.observation("absent", "72514-3", "2026-01-01", "3")));
  }

  @ParameterizedTest(name = "{0}: {1} {2}")
  @MethodSource("bodies")
  void case01And07And08And10And12And30And48And49And51And52ABadBodyIsRefusedAndItsElementNamed(
      String name, int status, String code, String expression, String type, String body) {
    post(type, body)
        .statusCode(status)
        .body("resourceType", equalTo("OperationOutcome"))
        .body("issue[0].severity", equalTo("error"))
        .body("issue[0].details.coding[0].code", equalTo(code))
        .body(
            "issue[0].expression",
            expression == null ? org.hamcrest.Matchers.nullValue() : equalTo(List.of(expression)))
        .body(not(containsString("Exception")))
        .body(not(containsString("org.")));
  }

  /** By the JDK's client: REST Assured itself takes seconds over such a body. */
  @Test
  void case02DeepNestingIsMalformedAndQuick() throws Exception {
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
  void case01And04BadXmlIsMalformedAndNoEntityIsRead() {
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
  void case12AnUpdateUnderAnotherIdIsRefused() {
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
  void case05And06FormatsThatAreNotOfferedAreRefused() {
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
  void case03ABodyOverTheLimitIsTooLarge() {
    String body =
        "{\"resourceType\":\"Patient\",\"name\":[{\"text\":\"" + "x".repeat(17 << 20) + "\"}]}";
    post("Patient", body)
        .statusCode(413)
        .body("issue[0].code", equalTo("too-long"))
        .body("issue[0].details.coding[0].code", equalTo("too-large"));
  }

  @Test
  void case09ALongTextIsKeptByteForByte() {
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
  void case50WhatOthersSayBesideIsKept() {
    post(
            "Patient",
            """
            {"resourceType":"Patient","meta":{"profile":["https://x.example/StructureDefinition/p"]},
             "extension":[{"url":"https://x.example/e","valueString":"kept"}],
             "identifier":[{"system":"https://x.example/a","value":"1"},{"system":"https://x.example/b","value":"2"}],
             "_birthDate":{"extension":[{"url":"https://x.example/f","valueInteger":7}]}}""")
        .statusCode(201)
        .body("meta.profile", equalTo(List.of("https://x.example/StructureDefinition/p")))
        .body("identifier.value", equalTo(List.of("1", "2")))
        .body("extension[0].valueString", equalTo("kept"))
        .body("_birthDate.extension[0].valueInteger", equalTo(7));
  }

  /** FHIR R4, JSON: null keeps the place of a value that is left out. */
  @Test
  void case52WhatStandsInPlaceOfAValueIsKept() {
    String id =
        post(
                "Patient",
                """
                {"resourceType":"Patient","name":[{"given":["A",null,"C"],
                 "_given":[null,{"extension":[{"url":"https://x.example/e","valueString":"q"}]}]}]}""")
            .statusCode(201)
            .extract()
            .path("id");
    given()
        .get("/fhir/Patient/" + id)
        .then()
        .body("name[0].given", equalTo(Arrays.asList("A", null, "C")))
        .body("name[0]._given[1].extension[0].valueString", equalTo("q"));
  }

  @Test
  void case51WhatIsContainedIsKept() {
    String id =
        post("Patient", contained("\"id\":\"p\",\"name\":[{\"text\":\"Kaja Lund\"}]"))
            .statusCode(201)
            .extract()
            .path("id");
    String stored = given().get("/fhir/Patient/" + id).asString();
    given()
        .contentType(Fhir.JSON)
        .body(stored.replace("\"contained\"", "\"active\":true,\"contained\""))
        .put("/fhir/Patient/" + id)
        .then()
        .statusCode(200)
        .body("contained[0].name[0].text", equalTo("Kaja Lund"))
        .body("generalPractitioner[0].reference", equalTo("#p"));
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
        "<iframe src='https://elsewhere.example'></iframe>",
        "<a href='&#106;avascript:alert(1)'>x</a>",
        "<img src='data:text/html,x' alt='x'/>",
        "<img src='x' onerror='alert(1)' alt='x'/>",
        "<object data='x'></object>"
      })
  void case46ActiveContentInANarrativeIsRefused(String content) {
    for (String type : new String[] {"Observation", "Patient"}) {
      String more =
          type.equals("Patient")
              ? ""
              : ",\"status\":\"final\",\"code\":{\"text\":\"Note\"},\"subject\":{\"identifier\":{\"value\":\"x\"}}";
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
          .body("issue[0].details.coding[0].code", equalTo("not-valid"))
          .body("issue[0].expression[0]", equalTo(type + ".text.div"));
    }
  }

  /** FHIR R4, narrative: formatting, tables, links and images. */
  @Test
  void case46WhatOnlyShowsSomethingIsKept() {
    String div =
        "<div xmlns='http://www.w3.org/1999/xhtml'><h2 id='n'>Knee</h2><p style='color: red'>Stiff in the"
            + " <b>morning</b>. <a href='https://x.example/a:b'>More</a> <a href='#n'>here</a> <a"
            + " href='notes/a:b'>or there</a></p><table border='1'><tr><td"
            + " colspan='2'>100°</td></tr></table><img src='https://x.example/knee.png' alt='knee'/>"
            + "</div>";
    post(
            "Patient",
            "{\"resourceType\":\"Patient\",\"text\":{\"status\":\"generated\",\"div\":\""
                + div
                + "\"}}")
        .statusCode(201)
        .body("text.div", containsString("knee.png"));
  }
}
