package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.everyItem;
import static org.hamcrest.Matchers.hasItem;
import static org.hamcrest.Matchers.hasSize;
import static org.hamcrest.Matchers.not;
import static org.hamcrest.Matchers.startsWith;

import io.quarkus.test.junit.QuarkusTest;
import io.restassured.response.ValidatableResponse;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import org.junit.jupiter.api.Test;

/** The walk that the README takes, with the files that it names. */
@QuarkusTest
class WalkTest {
  private static final String ORDERS = "/fhir/ServiceRequest?patient=mara-quill";

  private static ValidatableResponse post(String to, String file) throws IOException {
    return given()
        .contentType("application/fhir+json")
        .body(Files.readString(Path.of("demo-bundles", "walk", file)))
        .post("/fhir" + to)
        .then();
  }

  @Test
  void theWalkLeadsWhereTheReadmeSays() throws IOException {
    post("", "enrol.json")
        .statusCode(200)
        .body("entry.response.status", everyItem(startsWith("201")));
    given().get("/fhir/CarePlan/mara-quill").then().body("activity", hasSize(2));
    post("/Observation", "session.json").statusCode(201);
    post("/Observation", "morning.json").statusCode(201);
    given()
        .get("/fhir/GuidanceResponse?patient=mara-quill&_sort=-_lastUpdated&_count=1")
        .then()
        .body("entry[0].resource.reasonCode.coding.flatten().code", hasItem("evidence-thin"));
    post("/Observation", "range-in-radians.json").statusCode(201);
    given()
        .get("/fhir/PlanDefinition/knee-deep-flexion/$apply?subject=Patient/mara-quill&side=right")
        .then()
        .statusCode(200)
        .body("contained.resourceType", hasItem("RequestGroup"));
    given().get("/fhir/CarePlan/mara-quill/$next-prescription").then().statusCode(200);
    post("/Observation", "session-with-pain-11.json")
        .statusCode(422)
        .body("issue.expression.flatten()", hasItem("Observation.component[4].value"));

    post("/Observation", "warning.json").statusCode(201);
    given().get(ORDERS).then().body("entry.resource.status", not(hasItem("active")));
    String task =
        given()
            .get("/fhir/Task?patient=mara-quill&status=requested")
            .then()
            .body("entry", hasSize(1))
            .extract()
            .path("entry[0].resource.id");
    String open = given().get("/fhir/Task/" + task).asString();
    given()
        .contentType("application/fhir+json")
        .body(open.replace("\"status\":\"requested\"", "\"status\":\"completed\""))
        .put("/fhir/Task/" + task)
        .then()
        .statusCode(200);
    given().get(ORDERS).then().body("entry.resource.status", everyItem(startsWith("active")));

    given()
        .get("/fhir/CarePlan/mara-quill/$handover")
        .then()
        .statusCode(200)
        .body("type", equalTo("document"))
        .body("signature.sigFormat", equalTo("application/jose"));
    given()
        .get("/fhir/CarePlan/mara-quill/$handover?form=transaction")
        .then()
        .statusCode(200)
        .body("type", equalTo("transaction"));
  }
}
