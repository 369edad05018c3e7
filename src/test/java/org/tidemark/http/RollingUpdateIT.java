package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.IOException;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpResponse;
import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Queue;
import java.util.concurrent.ConcurrentLinkedQueue;
import org.junit.jupiter.api.Test;
import org.tidemark.store.PostgresServer;

/**
 * Two instances on one PostgreSQL behind nginx, of which one after the other is replaced while
 * readers and writers go on: no request fails, and each acknowledged write is there once.
 */
class RollingUpdateIT {
  private static final int NGINX = PlanPerson.PORT;
  private static final int ROUNDS = 1;

  /** The machine has to start instances meanwhile. */
  private static final int PAUSE_MS = 30;

  private static final int TERMINATED = 128 + 15;

  private final Queue<String> failed = new ConcurrentLinkedQueue<>();
  private volatile boolean stopped;
  private volatile int read;

  private void read(String address) {
    HttpClient client = HttpClient.newBuilder().version(HttpClient.Version.HTTP_1_1).build();
    HttpRequest request =
        HttpRequest.newBuilder(URI.create(address)).timeout(Duration.ofSeconds(30)).build();
    while (!stopped) {
      try {
        int status = client.send(request, HttpResponse.BodyHandlers.ofString()).statusCode();
        if (status != 200) {
          failed.add(status + " " + address);
        }
        read++;
        Thread.sleep(PAUSE_MS);
      } catch (IOException e) {
        failed.add(e + " " + address);
      } catch (InterruptedException e) {
        Thread.currentThread().interrupt();
        return;
      }
    }
  }

  @Test
  void noRequestFailsAndNoWriteIsLostOrDoubled() throws Exception {
    Map<String, String> settings =
        Map.of(
            "TIDEMARK_DATABASE_URL",
            PostgresServer.newDatabase(),
            "TIDEMARK_DATABASE_USER",
            PostgresServer.USER,
            "TIDEMARK_PAPERS_EVERY",
            "off",
            "QUARKUS_LOG_CONSOLE_JSON_ENABLED",
            "true",
            "QUARKUS_HTTP_PROXY_PROXY_ADDRESS_FORWARDING",
            "true",
            "QUARKUS_HTTP_PROXY_TRUSTED_PROXIES",
            "127.0.0.1");
    int[] ports = {PackagedService.freePort(), PackagedService.freePort()};
    PackagedService[] instances = new PackagedService[2];
    Load load = new Load(PAUSE_MS);
    try (Nginx nginx = Nginx.start(NGINX, ports[0], ports[1])) {
      for (int i = 0; i < 2; i++) {
        instances[i] = PackagedService.start(ports[i], settings);
      }
      for (PackagedService instance : instances) {
        instance.awaitReady();
      }
      PlanPerson reported = PlanPerson.enrolled();
      PlanPerson measured = PlanPerson.here();
      load.reports(reported, 1);
      load.transactions(measured);
      Thread reader = new Thread(() -> read(PlanPerson.BASE + "/" + reported.subject));
      Thread searcher =
          new Thread(() -> read(PlanPerson.BASE + "/CarePlan?subject=" + reported.subject));
      reader.start();
      searcher.start();
      for (int round = 0; round < ROUNDS; round++) {
        for (int i = 0; i < 2; i++) {
          load.awaitAnswers(10);
          instances[i].tellToStop();
          assertEquals(TERMINATED, instances[i].awaitEnd());
          instances[i] = PackagedService.start(ports[i], settings).awaitReady();
          awaitUsed(nginx, ports[i]);
        }
      }
      stopped = true;
      reader.join();
      searcher.join();
      load.requireThatAllGoOn();
      load.stop();
      assertEquals(List.of(), List.copyOf(failed));
      assertEquals(List.of(), load.refusals().stream().map(HttpResponse::statusCode).toList());
      assertTrue(read > 200, "only " + read + " were read");
      load.requireAll();
      requireCallerInAudit(reported, ports[0]);
      assertEquals(load.inTransactions(), count(measured), "none lost, none twice");
    } finally {
      stopped = true;
      for (PackagedService instance : instances) {
        if (instance != null) {
          instance.stop();
        }
      }
    }
    for (PackagedService instance : instances) {
      requireJson(instance.log());
    }
  }

  /** Once nginx has found that the new one is there. */
  private static void awaitUsed(Nginx nginx, int port) throws Exception {
    int before = nginx.log().size();
    for (int tenth = 0; tenth < 300; tenth++) {
      List<String> since = nginx.log();
      if (since.subList(before, since.size()).stream()
          .anyMatch(line -> line.contains("127.0.0.1:" + port + "\" \"20"))) {
        return;
      }
      Thread.sleep(100);
    }
    throw new AssertionError("nginx does not use " + port + " again");
  }

  /** Whom a trusted proxy names is who is audited; nginx names the one who asks it. */
  private static void requireCallerInAudit(PlanPerson person, int port) throws Exception {
    String caller = "203.0.113.7";
    given()
        .header("X-Forwarded-For", caller)
        .get("http://localhost:" + port + "/fhir/" + person.subject)
        .then()
        .statusCode(200);
    String trail = PlanPerson.BASE + "/AuditEvent?_sort=-date&_count=5&patient=" + person.subject;
    for (int tenth = 0; !given().get(trail).asString().contains(caller); tenth++) {
      assertTrue(tenth < 100, "the audit does not know who asked");
      Thread.sleep(100);
    }
  }

  private static int count(PlanPerson person) {
    return given()
        .get(PlanPerson.BASE + "/Observation?_summary=count&subject=" + person.subject)
        .then()
        .statusCode(200)
        .extract()
        .path("total");
  }

  /** Java's own words about the start come before the log. */
  private static void requireJson(String log) throws IOException {
    ObjectMapper mapper = new ObjectMapper();
    List<String> lines = log.lines().filter(line -> line.startsWith("{")).toList();
    List<String> errors = new ArrayList<>();
    for (String line : lines) {
      if (mapper.readTree(line).get("level").asText().equals("ERROR")) {
        errors.add(line);
      }
      assertTrue(!line.contains("Brandvik"), line);
    }
    assertTrue(!lines.isEmpty(), log);
    assertEquals(List.of(), errors);
  }
}
