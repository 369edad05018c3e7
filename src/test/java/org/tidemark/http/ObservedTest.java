package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.sun.net.httpserver.HttpServer;
import io.quarkus.bootstrap.logging.InitialConfigurator;
import io.quarkus.test.common.QuarkusTestResourceLifecycleManager;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.net.InetAddress;
import java.net.InetSocketAddress;
import java.nio.charset.StandardCharsets;
import java.util.Arrays;
import java.util.List;
import java.util.Map;
import java.util.UUID;
import java.util.concurrent.CopyOnWriteArrayList;
import java.util.logging.Handler;
import org.jboss.logmanager.ExtLogRecord;
import org.jboss.logmanager.handlers.ConsoleHandler;
import org.junit.jupiter.api.Test;

/** The service with its traces sent, its log in JSON and a token for its figures. */
@QuarkusTest
@TestProfile(ObservedTest.Watched.class)
class ObservedTest {
  private static final String TRACE = "4bf92f3577b34da6a3ce929d0e0e4736";
  private static final String TOKEN = UUID.randomUUID().toString();

  /** Where the traces go. */
  public static final class Collector implements QuarkusTestResourceLifecycleManager {
    /** What came, as protobuf, in which texts stand as they are. */
    static final List<String> GOT = new CopyOnWriteArrayList<>();

    private HttpServer server;

    @Override
    public Map<String, String> start() {
      try {
        server = HttpServer.create(new InetSocketAddress(InetAddress.getLoopbackAddress(), 0), 0);
      } catch (IOException e) {
        throw new UncheckedIOException(e);
      }
      server.createContext(
          "/v1/traces",
          exchange -> {
            GOT.add(
                new String(exchange.getRequestBody().readAllBytes(), StandardCharsets.ISO_8859_1));
            exchange.getResponseHeaders().add("Content-Type", "application/x-protobuf");
            exchange.sendResponseHeaders(200, -1);
            exchange.close();
          });
      server.start();
      return Map.of(
          "quarkus.otel.exporter.otlp.endpoint",
          "http://127.0.0.1:" + server.getAddress().getPort());
    }

    @Override
    public void stop() {
      server.stop(0);
    }
  }

  /** All of it is on. */
  public static final class Watched implements QuarkusTestProfile {
    @Override
    public Map<String, String> getConfigOverrides() {
      return Map.of(
          "quarkus.otel.sdk.disabled", "false",
          "quarkus.otel.exporter.otlp.protocol", "http/protobuf",
          "quarkus.otel.bsp.schedule.delay", "100ms",
          "quarkus.log.console.json.enabled", "true",
          "tidemark.metrics.token", TOKEN);
    }

    @Override
    public List<TestResourceEntry> testResources() {
      return List.of(new TestResourceEntry(Collector.class));
    }
  }

  private static String awaitSpans(String last) throws InterruptedException {
    for (int tenth = 0; tenth < 200; tenth++) {
      String all = String.join("", Collector.GOT);
      if (all.contains(last)) {
        return all;
      }
      Thread.sleep(100);
    }
    throw new AssertionError("no " + last + " among " + Collector.GOT.size());
  }

  private static int times(String part, String text) {
    return text.split(java.util.regex.Pattern.quote(part), -1).length - 1;
  }

  @Test
  void aRequestIsASpanOfItsCallersTraceWithItsPartsAndTellsOfNobody() throws Exception {
    PlanPerson person = PlanPerson.enrolled();
    Collector.GOT.clear();
    given()
        .contentType(Fhir.JSON)
        .header("traceparent", "00-" + TRACE + "-00f067aa0ba902b7-01")
        .body(PlanPerson.json(person.session(1)))
        .post("/fhir/Observation?secret=Zzyzx")
        .then()
        .statusCode(201);
    given().get("/fhir/" + person.subject + "?_pretty=true").then().statusCode(200);
    String spans = awaitSpans("GET /fhir/Patient/{id}");
    byte[] id = new java.math.BigInteger(TRACE, 16).toByteArray();
    String trace =
        new String(Arrays.copyOfRange(id, id.length - 16, id.length), StandardCharsets.ISO_8859_1);
    assertTrue(spans.contains("POST /fhir/Observation"), "the request");
    assertTrue(spans.contains("transaction") && spans.contains("decide"), "its parts");
    assertEquals(3, times(trace, spans), "all in the trace of the caller");
    for (String secret :
        List.of(
            person.subject.substring("Patient/".length()),
            "Zzyzx",
            "secret",
            "url.query",
            "url.path")) {
      assertFalse(spans.contains(secret), secret);
    }
  }

  @Test
  void aLineOfTheLogIsOneObjectWithItsRequestAndForgesNothing() throws IOException {
    Handler console =
        Arrays.stream(InitialConfigurator.DELAYED_HANDLER.getHandlers())
            .filter(ConsoleHandler.class::isInstance)
            .findFirst()
            .orElseThrow();
    ExtLogRecord line =
        new ExtLogRecord(
            org.jboss.logmanager.Level.ERROR, "got %s", ExtLogRecord.FormatStyle.PRINTF, "x");
    line.setParameters(
        new Object[] {"a\"}\r\n{\"level\":\"INFO\",\"message\":\"forged\u001b[2J\"}"});
    line.setThrown(new IllegalStateException("why"));
    line.setMdc(Map.of("request", "r-4711"));
    assertTrue(console.getFilter().isLoggable(line));
    String written = console.getFormatter().format(line);
    assertEquals(1, written.strip().lines().count(), written);
    JsonNode json = new ObjectMapper().readTree(written);
    assertEquals("ERROR", json.get("level").asText());
    assertEquals("r-4711", json.get("mdc").get("request").asText(), written);
    assertTrue(json.get("message").asText().startsWith("got a\"}\n    {\"level\""), written);
    assertTrue(json.get("message").asText().contains("IllegalStateException: why"), written);
    assertFalse(json.get("message").asText().contains("\u001b"), written);
  }

  @Test
  void figuresAreGivenForTheToken() {
    given().get("/q/metrics").then().statusCode(401);
    given().header("Authorization", "Bearer x" + TOKEN).get("/q/metrics").then().statusCode(401);
    given()
        .header("Authorization", "Bearer " + TOKEN)
        .header("X-Forwarded-For", "192.0.2.1")
        .get("/q/metrics")
        .then()
        .statusCode(200);
  }
}
