package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.not;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.junit.jupiter.api.Test;

/** The page of a plan shows what its records say. */
@QuarkusTest
class PlanPageTest {

  @Test
  void thePageShowsEachPrescriptionInWordsAndAsAPicture() {
    PlanPerson person = PlanPerson.enrolled();
    String page =
        given()
            .get("/plan/" + person.plan().getIdElement().getIdPart())
            .then()
            .statusCode(200)
            .contentType("text/html;charset=UTF-8")
            .header("Content-Security-Policy", containsString("default-src 'none'"))
            .body(not(containsString("NOT_FOUND")))
            .extract()
            .asString();
    assertTrue(!person.inForce().isEmpty());
    for (ServiceRequest order : person.inForce().values()) {
      assertTrue(page.contains("<h2>" + order.getCode().getText()), order.getCode().getText());
    }
    assertTrue(page.contains("<svg"), page);
    assertTrue(page.contains(person.plan().getText().getDivAsString()));
  }

  @Test
  void whatIsNoPlanIsNotFound() {
    given().get("/plan/nobody").then().statusCode(404).body(containsString("No such plan"));
    given().get("/plan/%3Cscript%3E").then().statusCode(404).body(not(containsString("<script>")));
  }
}
