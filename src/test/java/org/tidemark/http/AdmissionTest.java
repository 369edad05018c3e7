package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import io.restassured.response.Response;
import java.io.IOException;
import java.net.Socket;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.concurrent.Callable;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Patient;
import org.junit.jupiter.api.Test;

/** Too many, too slow and too silent clients do not stop the others. */
@QuarkusTest
@TestProfile(AdmissionTest.Narrow.class)
class AdmissionTest {
  private static final int PORT = 8081;
  private static final int FLOOD = 300;
  private static final int PATIENCE_MS = 3_000;

  /** Narrow limits, so that they are met soon. */
  public static class Narrow implements QuarkusTestProfile {
    @Override
    public Map<String, String> getConfigOverrides() {
      return Map.of(
          "tidemark.request-limit", "4",
          "tidemark.body-patience", "3s",
          "tidemark.handover.wait", "0s",
          "quarkus.http.idle-timeout", "20s");
    }
  }

  private static String transaction() {
    Bundle bundle = new Bundle().setType(Bundle.BundleType.TRANSACTION);
    for (int i = 0; i < 12; i++) {
      bundle
          .addEntry()
          .setResource(new Patient().addName(new org.hl7.fhir.r4.model.HumanName().setFamily("Q")))
          .getRequest()
          .setMethod(Bundle.HTTPVerb.POST)
          .setUrl("Patient");
    }
    return PlanPerson.json(bundle);
  }

  @Test
  void moreThanTheLimitAreToldToComeAgain() throws Exception {
    String body = transaction();
    List<Callable<Response>> posts = new ArrayList<>();
    for (int i = 0; i < 24; i++) {
      posts.add(() -> given().contentType(Fhir.JSON).body(body).post("/fhir"));
    }
    ExecutorService threads = Executors.newFixedThreadPool(posts.size());
    int done = 0;
    int refused = 0;
    try {
      for (Future<Response> answer : threads.invokeAll(posts)) {
        if (answer.get().statusCode() == 200) {
          done++;
        } else {
          refused++;
          answer
              .get()
              .then()
              .statusCode(429)
              .header("Retry-After", "1")
              .contentType("application/fhir+json")
              .body("issue[0].code", org.hamcrest.Matchers.equalTo("throttled"))
              .body("issue[0].details.coding[0].code", org.hamcrest.Matchers.equalTo("throttled"));
        }
      }
    } finally {
      threads.shutdown();
    }
    assertTrue(done >= 4 && refused > 0, done + " done, " + refused + " refused");
    assertEquals(200, given().get("/fhir/metadata").statusCode(), "and then there is room again");
  }

  /** One of years may take most of the memory. */
  @Test
  void plansAreHandedOverOneByOne() throws Exception {
    String path =
        "/fhir/CarePlan/" + PlanPerson.enrolled().plan().getIdElement().getIdPart() + "/$handover";
    List<Callable<Integer>> requests = new ArrayList<>();
    for (int i = 0; i < 4; i++) {
      requests.add(() -> given().get(path).statusCode());
    }
    ExecutorService threads = Executors.newFixedThreadPool(requests.size());
    List<Integer> answers = new ArrayList<>();
    try {
      for (Future<Integer> answer : threads.invokeAll(requests)) {
        answers.add(answer.get());
      }
    } finally {
      threads.shutdown();
    }
    assertTrue(answers.contains(200) && answers.contains(429), answers.toString());
    given().get(path).then().statusCode(200);
  }

  @Test
  void bodiesThatDripHoldBackNobodyAndAreCutOff() throws IOException {
    clientsThatSay(
        "POST /fhir/Patient HTTP/1.1\r\nHost: x\r\nContent-Type: application/fhir+json\r\n"
            + "Content-Length: 1000\r\n\r\n{");
  }

  @Test
  void headsThatNeverEndHoldBackNobodyAndAreCutOff() throws IOException {
    clientsThatSay("GET /fhir/Patient HTTP/1.1\r\nHost: ");
  }

  @Test
  void connectionsThatSayNothingHoldBackNobodyAndAreCutOff() throws IOException {
    clientsThatSay("");
  }

  private static void clientsThatSay(String begun) throws IOException {
    List<Socket> flood = new ArrayList<>();
    try {
      for (int i = 0; i < FLOOD; i++) {
        Socket socket = new Socket("localhost", PORT);
        socket.getOutputStream().write(begun.getBytes(StandardCharsets.US_ASCII));
        socket.setSoTimeout(20 * PATIENCE_MS);
        flood.add(socket);
      }
      long before = System.nanoTime();
      assertEquals(200, given().get("/fhir/Patient?_id=nobody").statusCode());
      Fhir.post(Fhir.observation("nobody", "8867-4", "2026-04-13", "1")).statusCode(422);
      long tookMs = (System.nanoTime() - before) / 1_000_000;
      assertTrue(tookMs < PATIENCE_MS, "others waited " + tookMs + " ms");
      for (Socket socket : flood) {
        assertEquals(-1, socket.getInputStream().read(), "it is cut off");
      }
    } finally {
      for (Socket socket : flood) {
        socket.close();
      }
    }
  }
}
