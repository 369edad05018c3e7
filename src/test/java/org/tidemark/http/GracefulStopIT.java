package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.restassured.response.Response;
import java.net.http.HttpResponse;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** Told to stop (SIGTERM), the service finishes what it has taken and takes nothing more. */
class GracefulStopIT {
  private static final int PORT = PlanPerson.PORT;
  private static final int TERMINATED = 128 + 15;

  @TempDir Path folder;

  @Test
  void readinessGoesDownFirstThenRequestsAreRefusedAndNoneIsLost() throws Exception {
    Map<String, String> settings =
        Map.of("TIDEMARK_DATA", folder.toString(), "QUARKUS_SHUTDOWN_DELAY", "8s");
    PackagedService service = PackagedService.start(PORT, settings).awaitReady();
    Load load = new Load();
    try {
      load.reports(PlanPerson.enrolled(), 1);
      load.transactions(PlanPerson.here());
      load.awaitAnswers(20);
      service.tellToStop();
      List<Integer> served = new ArrayList<>();
      Response refusal = null;
      while (refusal == null) {
        int ready = service.status("/q/health/ready");
        Response answer = given().get(PlanPerson.BASE + "/Patient?_id=nobody");
        if (answer.statusCode() == 200) {
          served.add(ready);
        } else {
          refusal = answer;
        }
        Thread.sleep(100);
      }
      assertTrue(served.contains(503), "served although not ready any more: " + served);
      assertEquals(503, served.get(served.size() - 1));
      refusal
          .then()
          .statusCode(503)
          .header("Retry-After", "10")
          .body("issue[0].details.coding[0].code", org.hamcrest.Matchers.equalTo("unavailable"));
      assertEquals(TERMINATED, service.awaitEnd());
      load.awaitEnd();
      assertEquals(
          List.of(503, 503),
          load.refusals().stream().map(HttpResponse::statusCode).toList(),
          "each writer got its last answer");
    } finally {
      service.stop();
    }
    PackagedService again = PackagedService.start(PORT, settings).awaitReady();
    try {
      load.requireAll();
    } finally {
      again.stop();
    }
  }
}
