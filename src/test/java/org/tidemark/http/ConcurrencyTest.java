package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.equalTo;
import static org.junit.jupiter.api.Assertions.assertEquals;

import io.quarkus.test.junit.QuarkusTest;
import java.util.ArrayList;
import java.util.Collections;
import java.util.List;
import java.util.concurrent.Callable;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/** Writers that come at the same time. */
@QuarkusTest
class ConcurrencyTest {

  private static List<Integer> atOnce(int writers, Callable<Integer> write) throws Exception {
    ExecutorService threads = Executors.newFixedThreadPool(writers);
    try {
      List<Integer> statuses = new ArrayList<>();
      for (Future<Integer> status : threads.invokeAll(Collections.nCopies(writers, write))) {
        statuses.add(status.get());
      }
      return statuses;
    } finally {
      threads.shutdown();
    }
  }

  private static long count(List<Integer> statuses, int status) {
    return statuses.stream().filter(s -> s == status).count();
  }

  @ParameterizedTest
  @ValueSource(ints = {8, 64})
  void case16ConditionalCreatesAtOnceMakeOneRecord(int writers) throws Exception {
    String identifier = "urn:race|" + writers;
    List<Integer> statuses =
        atOnce(
            writers,
            () ->
                given()
                    .contentType(Fhir.JSON)
                    .header("If-None-Exist", "identifier=" + identifier)
                    .body(
                        "{\"resourceType\":\"Patient\",\"identifier\":[{\"system\":\"urn:race\",\"value\":\"%d\"}]}"
                            .formatted(writers))
                    .post("/fhir/Patient")
                    .statusCode());
    assertEquals(1, count(statuses, 201), statuses.toString());
    assertEquals(writers - 1, count(statuses, 200), statuses.toString());
    given()
        .queryParam("identifier", identifier)
        .get("/fhir/Patient")
        .then()
        .body("total", equalTo(1));
  }

  @Test
  void case19OfTwentyUpdatesFromOneVersionOneIsStored() throws Exception {
    Fhir.put("Patient", "contended", "").statusCode(201);
    List<Integer> statuses =
        atOnce(
            20,
            () ->
                given()
                    .contentType(Fhir.JSON)
                    .header("If-Match", "W/\"1\"")
                    .body("{\"resourceType\":\"Patient\",\"id\":\"contended\",\"active\":true}")
                    .put("/fhir/Patient/contended")
                    .statusCode());
    assertEquals(1, count(statuses, 200), statuses.toString());
    assertEquals(19, count(statuses, 412), statuses.toString());
    given().get("/fhir/Patient/contended").then().body("meta.versionId", equalTo("2"));
  }

  @Test
  void updatesWithoutAConditionAllCountAndLeaveNoGap() throws Exception {
    Fhir.put("Patient", "busy", "").statusCode(201);
    List<Integer> statuses =
        atOnce(
            12,
            () ->
                given()
                    .contentType(Fhir.JSON)
                    .body("{\"resourceType\":\"Patient\",\"id\":\"busy\",\"active\":true}")
                    .put("/fhir/Patient/busy")
                    .statusCode());
    assertEquals(12, count(statuses, 200), statuses.toString());
    for (int version = 1; version <= 13; version++) {
      given().get("/fhir/Patient/busy/_history/" + version).then().statusCode(200);
    }
  }

  @Test
  void firstReportsAboutAPersonElsewhereAreAllStored() throws Exception {
    String body =
        Fhir.observation("x", "72514-3", "2026-01-01", "3")
            .replace("\"Patient/x\"", "\"https://records.example/fhir/Patient/crowd\"");
    List<Integer> statuses =
        atOnce(
            10,
            () -> given().contentType(Fhir.JSON).body(body).post("/fhir/Observation").statusCode());
    assertEquals(10, count(statuses, 201), statuses.toString());
    given()
        .queryParam("patient", "https://records.example/fhir/Patient/crowd")
        .get("/fhir/Observation")
        .then()
        .body("total", equalTo(10));
  }
}
