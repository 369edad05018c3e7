package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.matchesPattern;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import org.junit.jupiter.api.Test;
import org.tidemark.fhir.AcceptedItem;
import org.tidemark.fhir.Problem;

/** The page for those who connect a system, and the ids of their requests. */
@QuarkusTest
class GuidePageTest {

  @Test
  void theGuideNamesEveryErrorItemAndCodeOfAnotherSystem() {
    String page =
        given().get("/guide").then().statusCode(200).contentType("text/html").extract().asString();
    for (Problem.Kind kind : Problem.Kind.values()) {
      assertTrue(page.contains("id=\"" + kind.code() + "\""), kind.code());
    }
    for (AcceptedItem item : AcceptedItem.all()) {
      assertTrue(page.contains("<code>" + item.code() + "</code>"), item.code());
    }
    assertTrue(page.contains("<code>41347-6</code>"));
    assertTrue(page.contains("16 MiB"));
  }

  /** What the page gives as taken is taken, and as refused is refused. */
  @Test
  void itsSamplesOfThePainScoreAndTheBendAreTrue() {
    AcceptedItem bend = item("comfortable-flexion");
    assertEquals("165 deg", bend.taken());
    assertEquals("166 deg", bend.refused());
    for (String[] sample : new String[][] {{bend.taken(), "201"}, {bend.refused(), "422"}}) {
      Fhir.post(
              """
              {"resourceType":"Observation","status":"final",
               "code":{"coding":[{"system":"http://loinc.org","code":"41347-6"}]},
               "subject":{"reference":"https://elsewhere.example/fhir/Patient/guide"},
               "effectiveDateTime":"2026-03-02",
               "valueQuantity":{"value":%s,"system":"http://unitsofmeasure.org","code":"deg"}}"""
                  .formatted(sample[0].split(" ")[0]))
          .statusCode(Integer.parseInt(sample[1]));
    }
  }

  private static AcceptedItem item(String code) {
    return AcceptedItem.all().stream()
        .filter(item -> item.code().equals(code))
        .findFirst()
        .orElseThrow();
  }

  @Test
  void theServiceSaysWhenNoWriteHasToWait() {
    given()
        .get("/q/health/ready")
        .then()
        .statusCode(200)
        .body("checks.find { it.name == 'definitions' }.status", equalTo("UP"));
  }

  @Test
  void theIdOfARequestComesBack() {
    given()
        .header("X-Request-ID", "ward-7.2026_a")
        .get("/fhir/Patient/absent")
        .then()
        .statusCode(404)
        .header("X-Request-ID", equalTo("ward-7.2026_a"));
    given()
        .header("X-Request-ID", "<script>")
        .get("/fhir/metadata")
        .then()
        .header("X-Request-ID", matchesPattern("[0-9a-f-]{36}"));
  }
}
