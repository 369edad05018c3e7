package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.TestProfile;
import org.junit.jupiter.api.Test;

/** Figures where each request needs an access token. */
@QuarkusTest
@TestProfile(SmartProfile.class)
class MetricsAccessTest {
  private static final String REFUSED =
      "http_server_requests_seconds_count{method=\"GET\",outcome=\"CLIENT_ERROR\","
          + "status=\"401\",uri=\"/fhir/Goal/{id}\"} ";

  /** An access token is for records; the figures go by where the request comes from. */
  @Test
  void requestsWithoutATokenAreCountedAndTheFiguresNeedNone() throws InterruptedException {
    given().get("/fhir/Goal/4711").then().statusCode(401);
    String scraped = "";
    for (int tenth = 0; tenth < 50 && !scraped.contains(REFUSED); tenth++) {
      Thread.sleep(100);
      scraped = given().get("/q/metrics").then().statusCode(200).extract().asString();
    }
    assertTrue(scraped.contains(REFUSED), scraped);
    given()
        .header("X-Forwarded-For", "192.0.2.1")
        .header("Authorization", "Bearer " + SmartProfile.token("system/*.cruds", (String) null))
        .get("/q/metrics")
        .then()
        .statusCode(403);
  }
}
