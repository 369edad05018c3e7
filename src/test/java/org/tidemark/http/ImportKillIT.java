package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.rest.client.api.IGenericClient;
import com.sun.net.httpserver.HttpExchange;
import com.sun.net.httpserver.HttpServer;
import io.restassured.RestAssured;
import io.restassured.response.Response;
import java.io.IOException;
import java.io.OutputStream;
import java.net.InetSocketAddress;
import java.nio.charset.StandardCharsets;
import java.nio.file.Path;
import java.sql.Connection;
import java.sql.Statement;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.Deque;
import java.util.List;
import java.util.Map;
import java.util.Properties;
import java.util.concurrent.Executors;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Parameters.ParametersParameterComponent;
import org.hl7.fhir.r4.model.UriType;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;
import org.tidemark.store.DurableH2Driver;

/**
 * The service is killed (SIGKILL) three times while it imports a file of reports: in its midst and
 * when it has been sent to its end. Afterwards each record has been written once.
 */
class ImportKillIT {
  private static final int DAYS = 160;
  private static final int KILLS = 3;
  private static final int SECONDS_FOR_ALL = 120;

  @TempDir Path folder;
  private final Deque<Integer> killsAfter = new ArrayDeque<>(List.of(70, 130, DAYS));
  private final List<String> lines = new ArrayList<>();
  private volatile PackagedService service;
  private volatile PackagedService killed;

  private PackagedService start() throws Exception {
    return PackagedService.start(
            PlanPerson.PORT,
            Map.of(
                "TIDEMARK_DATA", folder.toString(),
                "TIDEMARK_PAPERS_EVERY", "off",
                "TIDEMARK_SUBSCRIPTIONS_ALLOWED_HOSTS", "127.0.0.1",
                "TIDEMARK_IMPORT_EVERY", "0.2s",
                "TIDEMARK_IMPORT_PAUSE", "0.1s"))
        .awaitReady();
  }

  @Test
  void whenEverItIsKilledEachLineIsWrittenOnce() throws Exception {
    HttpServer there = HttpServer.create(new InetSocketAddress("127.0.0.1", 0), 0);
    there.setExecutor(Executors.newCachedThreadPool());
    there.createContext("/", this::send);
    there.start();
    service = start();
    try {
      PlanPerson person = PlanPerson.enrolled();
      for (int day = 1; day <= DAYS; day++) {
        Observation report = person.session(day);
        report.setId("report-" + day);
        lines.add(PlanPerson.json(report));
      }
      String place = begin("http://127.0.0.1:" + there.getAddress().getPort());
      for (int kill = 0; kill < KILLS; kill++) {
        service.awaitEnd();
        endLease();
        service = start();
      }
      Parameters standing = done(place);
      for (String name : List.of("lines", "written")) {
        assertEquals(Integer.toString(DAYS), told(standing, name), name);
      }
      assertEquals("0", told(standing, "refused"));
      requireOnce(person);
    } finally {
      service.stop();
      there.stop(0);
    }
  }

  /** Sends the lines, and kills the service after some of them. */
  private void send(HttpExchange exchange) throws IOException {
    int most = killsAfter.isEmpty() ? DAYS : killsAfter.peek();
    exchange.sendResponseHeaders(200, 0);
    OutputStream body = exchange.getResponseBody();
    for (String line : lines.subList(0, most)) {
      body.write((line + "\n").getBytes(StandardCharsets.UTF_8));
    }
    body.flush();
    if (most == DAYS) {
      body.close();
    }
    if (!killsAfter.isEmpty()) {
      killsAfter.remove();
      killInItsWork();
    }
    exchange.close();
  }

  /** One that is not known here yet is about to be. */
  private void killInItsWork() {
    try {
      do {
        Thread.sleep(700);
      } while (service == killed);
      killed = service;
      killed.kill();
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
    }
  }

  private static String begin(String source) {
    Parameters asked = new Parameters();
    asked.addParameter("inputSource", new UriType(source + "/fhir"));
    ParametersParameterComponent input = asked.addParameter().setName("input");
    input.addPart().setName("type").setValue(new CodeType("Observation"));
    input.addPart().setName("url").setValue(new UriType(source + "/reports.ndjson"));
    Response answer =
        RestAssured.given()
            .contentType("application/fhir+json")
            .header("Prefer", "respond-async")
            .body(PlanPerson.json(asked))
            .post(PlanPerson.BASE + "/$import");
    assertEquals(202, answer.statusCode(), answer.asString());
    return answer.header("Content-Location").replace("$", "%24");
  }

  /** As if the minutes had passed for which the killed one had the import. */
  private void endLease() throws Exception {
    Properties user = new Properties();
    user.setProperty("user", "tidemark");
    try (Connection connection =
            new DurableH2Driver()
                .connect("jdbc:h2:%s:%s/tidemark".formatted(DurableH2Driver.SCHEME, folder), user);
        Statement statement = connection.createStatement()) {
      assertEquals(1, statement.executeUpdate("update import_job set lease_ms = 1"));
    }
  }

  private static Parameters done(String place) throws InterruptedException {
    Response answer = RestAssured.given().urlEncodingEnabled(false).get(place);
    for (int tenth = 0; answer.statusCode() == 202 && tenth < SECONDS_FOR_ALL * 10; tenth++) {
      Thread.sleep(100);
      answer = RestAssured.given().urlEncodingEnabled(false).get(place);
    }
    assertEquals(200, answer.statusCode(), answer.asString());
    return PlanPerson.CONTEXT.newJsonParser().parseResource(Parameters.class, answer.asString());
  }

  private static String told(Parameters standing, String name) {
    return standing.getParameter().stream()
        .filter(parameter -> parameter.getName().equals("input"))
        .flatMap(input -> input.getPart().stream())
        .filter(part -> part.getName().equals(name))
        .map(part -> part.getValue().primitiveValue())
        .findFirst()
        .orElseThrow();
  }

  private static void requireOnce(PlanPerson person) {
    IGenericClient client = PlanPerson.client();
    Bundle found =
        client
            .search()
            .byUrl("Observation?_count=500&patient=" + person.subject)
            .returnBundle(Bundle.class)
            .execute();
    List<Observation> reports =
        found.getEntry().stream()
            .map(entry -> (Observation) entry.getResource())
            .filter(report -> report.getIdElement().getIdPart().startsWith("report-"))
            .toList();
    assertEquals(DAYS, reports.size());
    assertTrue(reports.stream().allMatch(report -> report.getMeta().getVersionId().equals("1")));
  }
}
