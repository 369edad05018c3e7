package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.util.List;
import java.util.Map;
import java.util.UUID;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CapabilityStatement;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/** The figures of the running service, as Prometheus fetches them. */
@QuarkusTest
class MetricsTest {
  private static String scrape() {
    return given().get("/q/metrics").then().statusCode(200).extract().asString();
  }

  /** The value of a series; 0 where there is none yet. */
  private static double value(String series) {
    return scrape()
        .lines()
        .filter(line -> line.startsWith(series + " "))
        .mapToDouble(line -> Double.parseDouble(line.substring(series.length() + 1)))
        .findFirst()
        .orElse(0);
  }

  private static String requests(String method, String place, int status, String outcome) {
    return "http_server_requests_seconds_count{method=\"%s\",outcome=\"%s\",status=\"%d\",uri=\"%s\"}"
        .formatted(method, outcome, status, place);
  }

  /** An answer goes out a moment before it is counted. */
  private static void awaitRise(String series, double before) throws InterruptedException {
    for (int tenth = 0; tenth < 50 && value(series) <= before; tenth++) {
      Thread.sleep(100);
    }
    assertTrue(value(series) > before, () -> series + " stays " + before + "\n" + scrape());
  }

  @Test
  void aRequestIsCountedByItsPlaceAndWithoutAnId() throws InterruptedException {
    String id = "p-" + UUID.randomUUID();
    String created = requests("PUT", "/fhir/Patient/{id}", 201, "SUCCESS");
    String read = requests("GET", "/fhir/Patient/{id}/_history/{version}", 200, "SUCCESS");
    String absent = requests("GET", "/fhir/Patient/{id}", 404, "CLIENT_ERROR");
    Map<String, Double> before =
        Map.of(created, value(created), read, value(read), absent, value(absent));
    given()
        .contentType(Fhir.JSON)
        .body(
            "{\"resourceType\":\"Patient\",\"id\":\"%s\",\"name\":[{\"family\":\"Zzyzx\"}]}"
                .formatted(id))
        .put("/fhir/Patient/" + id)
        .then()
        .statusCode(201);
    given().get("/fhir/Patient/" + id + "/_history/1").then().statusCode(200);
    given().get("/fhir/Patient?_id=Zzyzx").then().statusCode(200);
    given().get("/fhir/Patient/nobody-" + id).then().statusCode(404);
    for (String series : before.keySet()) {
      awaitRise(series, before.get(series));
    }
    assertFalse(scrape().contains(id), "no id in a tag");
    assertFalse(scrape().contains("Zzyzx"), "no name in a tag");
  }

  @Test
  void whatNobodyServesIsOnePlaceHoweverItIsCalled() throws InterruptedException {
    String other = requests("GET", "other", 404, "CLIENT_ERROR");
    double before = value(other);
    given().get("/fhir/" + UUID.randomUUID() + "/x").then().statusCode(404);
    given().get("/fhir/Patient/x/$" + UUID.randomUUID());
    given().get("/" + UUID.randomUUID()).then().statusCode(404);
    awaitRise(other, before);
    assertTrue(scrape().lines().filter(line -> line.contains("_count{")).count() < 500);
  }

  @ParameterizedTest
  @CsvSource({
    "/, /",
    "/fhir, /fhir",
    "/fhir/metadata, /fhir/metadata",
    "/fhir/Patient, /fhir/Patient",
    "/fhir/Patient/_search, /fhir/Patient/_search",
    "/fhir/Patient/4711, /fhir/Patient/{id}",
    "/fhir/Patient/4711/_history, /fhir/Patient/{id}/_history",
    "/fhir/Patient/4711/_history/3, /fhir/Patient/{id}/_history/{version}",
    "/fhir/Patient/4711/$everything, /fhir/Patient/{id}/$everything",
    "/fhir/CarePlan/4711/$next-prescription, /fhir/CarePlan/{id}/$next-prescription",
    "/fhir/$export, /fhir/$export",
    "/fhir/export/4711/1, /fhir/export/{id}",
    "/fhir/r5/CarePlan/4711, /fhir/r5/CarePlan/{id}",
    "/fhir/.well-known/smart-configuration, /fhir/.well-known/smart-configuration",
    "/fhir/Patient/4711/Mueller, other",
    "/fhir/Patient/$mueller, other",
    "/fhir/Patient/4711/$mueller, other",
    "/fhir/Mueller, other",
    "/fhir/Patient/4711/_history/3/4, other",
    "/fhir//Patient, other",
    "/plan/4711, /plan/{id}",
    "/assets/page.css, /assets/{id}",
    "/cds-services, /cds-services",
    "/cds-services/mueller, /cds-services/{id}",
    "/cds-services/mueller/feedback, /cds-services/{id}/feedback",
    "/signin/callback, /signin/callback",
    "/signin/mueller, other",
    "/mueller, other"
  })
  void aPathHasItsPlace(String path, String place) {
    assertEquals(place, RequestPlace.of(path));
  }

  @Test
  void everyTypeAndOperationThatIsDeclaredHasAPlace() {
    CapabilityStatement statement =
        PlanPerson.CONTEXT
            .newJsonParser()
            .parseResource(
                CapabilityStatement.class, given().get("/fhir/metadata").body().asString());
    var rest = statement.getRestFirstRep();
    List<String> paths =
        Stream.concat(
                rest.getOperation().stream().map(operation -> "/fhir/$" + operation.getName()),
                rest.getResource().stream()
                    .flatMap(
                        type ->
                            Stream.concat(
                                Stream.of("/fhir/" + type.getType()),
                                type.getOperation().stream()
                                    .map(o -> "/fhir/" + type.getType() + "/$" + o.getName()))))
            .toList();
    assertTrue(paths.size() > 30, "" + paths);
    for (String path : paths) {
      assertNotEquals(RequestPlace.OTHER, RequestPlace.of(path), path);
    }
  }

  @Test
  void aDecisionIsCountedOnceItStandsAndAPreviewIsNot() {
    String placed = "tidemark_decisions_total{verdict=\"place\"}";
    String maintained = "tidemark_decisions_total{verdict=\"maintain\"}";
    double placedBefore = value(placed);
    double maintainedBefore = value(maintained);
    PlanPerson person = PlanPerson.enrolled();
    assertEquals(placedBefore + 1, value(placed));
    person.send(person.session(1));
    double after = value(maintained);
    assertEquals(maintainedBefore + 1, after);
    person.nextAsked();
    given()
        .contentType(Fhir.JSON)
        .body(
            "{\"resourceType\":\"Bundle\",\"type\":\"transaction\",\"entry\":[{\"resource\":"
                + PlanPerson.json(person.session(2))
                + ",\"request\":{\"method\":\"POST\",\"url\":\"Observation\"}},"
                + "{\"request\":{\"method\":\"DELETE\",\"url\":\"CarePlan/x\"}}]}")
        .post("/fhir")
        .then()
        .statusCode(405);
    assertEquals(after, value(maintained), "neither looked ahead nor undone");
  }

  @Test
  void thePoolTheProcessAndJavaHaveFigures() {
    String scraped = scrape();
    for (String name :
        List.of(
            "agroal_active_count{datasource=",
            "agroal_awaiting_count{datasource=",
            "jvm_memory_used_bytes{",
            "jvm_gc_pause_seconds",
            "process_cpu_usage ",
            "process_uptime_seconds ",
            "process_files_open_files ",
            "tidemark_notifications_waiting ",
            "tidemark_papers_oldest_age_seconds ")) {
      assertTrue(scraped.lines().anyMatch(line -> line.startsWith(name)), name + "\n" + scraped);
    }
  }

  @ParameterizedTest
  @ValueSource(strings = {"X-Forwarded-For", "Forwarded", "Via", "X-Real-IP"})
  void whatAProxyPassesOnGetsNoFigures(String header) {
    given().header(header, "127.0.0.1").get("/q/metrics").then().statusCode(403);
    for (String path : List.of("/q//metrics", "/q/metrics/", "/q/%6detrics", "/q/./metrics")) {
      String answer =
          given().urlEncodingEnabled(false).header(header, "127.0.0.1").get(path).body().asString();
      assertFalse(answer.contains("jvm_"), path);
    }
  }
}
