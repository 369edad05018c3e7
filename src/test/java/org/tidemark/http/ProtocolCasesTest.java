package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.emptyOrNullString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasSize;
import static org.hamcrest.Matchers.nullValue;
import static org.hamcrest.Matchers.oneOf;

import io.quarkus.test.junit.QuarkusTest;
import io.restassured.response.ValidatableResponse;
import java.util.stream.Collectors;
import java.util.stream.IntStream;
import org.hl7.fhir.r4.model.Questionnaire;
import org.junit.jupiter.api.Test;
import org.tidemark.fhir.Codes;

/** What the protocol asks for beyond reading and writing one record. */
@QuarkusTest
class ProtocolCasesTest {

  @Test
  void case14HeadOptionsAndTrace() {
    Fhir.put("Patient", "head", "").statusCode(201);
    given()
        .head("/fhir/Patient/head")
        .then()
        .statusCode(200)
        .header("ETag", "W/\"1\"")
        .body(emptyOrNullString());
    given().head("/fhir/Patient/nobody").then().statusCode(404);
    given().options("/fhir").then().statusCode(200);
    given().request("TRACE", "/fhir/Patient/head").then().statusCode(405);
  }

  /** The rules of WHATWG's Fetch standard for requests across origins. */
  @Test
  void case14APortalUnderAnotherAddressIsLetInOnlyIfItIsConfigured() {
    given()
        .header("Origin", "https://portal.example")
        .header("Access-Control-Request-Method", "PUT")
        .header("Access-Control-Request-Headers", "content-type,if-match")
        .options("/fhir/Patient/head")
        .then()
        .statusCode(oneOf(200, 204))
        .header("Access-Control-Allow-Origin", "https://portal.example")
        .header("Access-Control-Allow-Methods", containsString("PUT"))
        .header("Access-Control-Allow-Headers", containsString("if-match"));
    Fhir.put("Patient", "across", "").statusCode(201);
    given()
        .header("Origin", "https://portal.example")
        .get("/fhir/Patient/across")
        .then()
        .statusCode(200)
        .header("Access-Control-Allow-Origin", "https://portal.example")
        .header("Access-Control-Expose-Headers", containsString("ETag"));
    given()
        .header("Origin", "https://elsewhere.example")
        .get("/fhir/Patient/across")
        .then()
        .statusCode(403)
        .header("Access-Control-Allow-Origin", nullValue());
  }

  @Test
  void case28AThousandEntriesAreStoredAndMoreThanTheLimitAreRefused() {
    transaction(1_000).statusCode(200).body("entry", hasSize(1_000));
    transaction(5_001)
        .statusCode(413)
        .body("issue[0].expression[0]", equalTo("Bundle.entry"))
        .body("issue[0].details.text", containsString("5000"));
  }

  private static ValidatableResponse transaction(int entries) {
    String body =
        IntStream.range(0, entries)
            .mapToObj(
                i ->
                    "{\"resource\":{\"resourceType\":\"Patient\"},\"request\":{\"method\":\"POST\","
                        + "\"url\":\"Patient\"}}")
            .collect(
                Collectors.joining(
                    ",",
                    "{\"resourceType\":\"Bundle\",\"type\":\"transaction\",\"entry\":[",
                    "]}"));
    return given().contentType(Fhir.JSON).body(body).post("/fhir").then();
  }

  @Test
  void aFormFromWhichAnswersAreTakenDoesNotChangeAndHasItsNameAlone() {
    Questionnaire session = new Questionnaire();
    session.setUrl("https://forms.example/Questionnaire/own").setVersion("1");
    session.setStatus(org.hl7.fhir.r4.model.Enumerations.PublicationStatus.ACTIVE);
    session
        .addItem()
        .setLinkId("pain")
        .setType(Questionnaire.QuestionnaireItemType.INTEGER)
        .setText("Pain")
        .addCode(Codes.concept(Codes.LOINC, Codes.LOINC_PAIN, null).getCodingFirstRep())
        .addExtension(
            "http://hl7.org/fhir/uv/sdc/StructureDefinition/sdc-questionnaire-observationExtract",
            new org.hl7.fhir.r4.model.BooleanType(true));
    String id = PlanPerson.post(session).statusCode(201).extract().path("id");
    PlanPerson.post(session)
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("Questionnaire.version"));
    session.setId(id);
    PlanPerson.put(session).statusCode(200);
    session.getItemFirstRep().setText("Pain today");
    PlanPerson.put(session)
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("immutable"));
  }
}
