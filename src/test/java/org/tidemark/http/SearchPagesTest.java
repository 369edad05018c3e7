package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasSize;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.restassured.path.json.JsonPath;
import io.restassured.response.ExtractableResponse;
import io.restassured.response.Response;
import java.nio.charset.StandardCharsets;
import java.time.Instant;
import java.util.ArrayList;
import java.util.Base64;
import java.util.HashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import java.util.stream.IntStream;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/** Pages of a search while others write. */
@QuarkusTest
class SearchPagesTest {
  private static final String HERE = "http://localhost:8081/fhir/";

  private static String observation(String patient) {
    return Fhir.observation(patient, "8302-2", "2026-01-05", "1");
  }

  /** Stores Observations in one transaction, so that most are written in the same millisecond. */
  private static List<String> store(String patient, int number) {
    String entries =
        String.join(
            ",",
            IntStream.range(0, number)
                .mapToObj(
                    i ->
                        "{\"resource\":"
                            + observation(patient)
                            + ",\"request\":{\"method\":\"POST\",\"url\":\"Observation\"}}")
                .toList());
    List<String> locations =
        given()
            .contentType(Fhir.JSON)
            .body(
                "{\"resourceType\":\"Bundle\",\"type\":\"transaction\",\"entry\":["
                    + entries
                    + "]}")
            .post("/fhir")
            .then()
            .statusCode(200)
            .extract()
            .jsonPath()
            .getList("entry.response.location");
    return locations.stream().map(location -> location.split("/")[1]).toList();
  }

  private static JsonPath page(String url) {
    return given().urlEncodingEnabled(false).get(url).then().statusCode(200).extract().jsonPath();
  }

  private static String next(JsonPath page) {
    return page.getString("link.find { it.relation == 'next' }.url");
  }

  private static List<String> ids(JsonPath page) {
    List<String> ids = page.getList("entry.resource.id");
    return ids == null ? List.of() : ids;
  }

  @ParameterizedTest(name = "sorted by {0}")
  @ValueSource(
      strings = {
        "",
        "date",
        "-date",
        "_lastUpdated",
        "-_lastUpdated",
        "_id",
        "-_id",
        "status",
        "-status,code",
        "status,-date",
        "code,-_lastUpdated"
      })
  void case33FiftyThatTieComeOnceEachWhileOthersAreWritten(String sort) {
    String patient = "pages-" + sort.replaceAll("[^A-Za-z]", "") + sort.length();
    Fhir.put("Patient", patient, "").statusCode(201);
    Set<String> atStart = new HashSet<>(store(patient, 50));
    List<String> seen = new ArrayList<>();
    String url =
        HERE
            + "Observation?patient="
            + patient
            + "&_count=7"
            + (sort.isEmpty() ? "" : "&_sort=" + sort);
    int pages = 0;
    while (url != null) {
      JsonPath page = page(url);
      seen.addAll(ids(page));
      url = next(page);
      pages++;
      if (pages < 5) {
        Fhir.post(observation(patient)).statusCode(201);
      }
    }
    assertTrue(pages >= 8, "pages: " + pages);
    assertEquals(seen.size(), new HashSet<>(seen).size(), "none comes twice");
    assertTrue(seen.containsAll(atStart), "none is left out");
  }

  @ParameterizedTest
  @ValueSource(strings = {"-date", "_id"})
  void case33AVersionWrittenBetweenPagesNeitherHidesNorRepeatsItsRecord(String sort) {
    String patient = "pages-versions" + sort.replace('_', '-');
    Fhir.put("Patient", patient, "").statusCode(201);
    List<String> atStart = store(patient, 20);
    List<String> seen = pagesWithWritesBetween(patient, sort, atStart);
    assertEquals(20, seen.size());
    assertEquals(new HashSet<>(atStart), new HashSet<>(seen));
  }

  /** The same statement serves pages of every size; none may keep the size of another. */
  @Test
  void aPageHasAsManyRecordsAsAreAskedForWhateverWasAskedBefore() {
    Fhir.put("Patient", "pages-sizes", "").statusCode(201);
    store("pages-sizes", 9);
    for (int count : List.of(1, 50, 2, 5, 50, 1)) {
      for (int again = 0; again < 4; again++) {
        for (String sort : List.of("", "&_sort=date", "&_sort=_id", "&_sort=-date")) {
          String url = HERE + "Observation?patient=pages-sizes&_count=" + count + sort;
          assertEquals(Math.min(count, 9), ids(page(url)).size(), url);
        }
      }
    }
  }

  @Test
  void case33UpwardsByLastUpdatedARecordThatMovesIsShownAgain() {
    Fhir.put("Patient", "pages-moving", "").statusCode(201);
    List<String> atStart = store("pages-moving", 20);
    List<String> seen = pagesWithWritesBetween("pages-moving", "_lastUpdated", atStart);
    assertTrue(seen.size() > 20, "shown: " + seen.size());
    assertEquals(new HashSet<>(atStart), new HashSet<>(seen));
  }

  /** Walks through all pages; after the first and the second, two records are written again. */
  private static List<String> pagesWithWritesBetween(
      String patient, String sort, List<String> atStart) {
    List<String> seen = new ArrayList<>();
    String url = HERE + "Observation?patient=" + patient + "&_count=6&_sort=" + sort;
    for (int number = 1; url != null; number++) {
      JsonPath page = page(url);
      seen.addAll(ids(page));
      url = next(page);
      for (String id : number > 2 ? List.<String>of() : List.of(seen.get(0), atStart.get(19))) {
        given()
            .contentType(Fhir.JSON)
            .body(observation(patient).replaceFirst("\\{", "{\"id\":\"" + id + "\","))
            .put("/fhir/Observation/" + id)
            .then()
            .statusCode(200);
      }
    }
    return seen;
  }

  /** A page's mark says all that is needed: one that this process never gave out holds as well. */
  @Test
  void case34AMarkFromBeforeARestartHolds() {
    Fhir.put("Patient", "pages-mark", "").statusCode(201);
    List<String> ids = store("pages-mark", 5).stream().sorted().toList();
    long day = Instant.parse("2026-01-05T00:00:00Z").toEpochMilli();
    String mark = encoded(Long.toString(day)) + "." + encoded(ids.get(2));
    JsonPath rest = page(HERE + "Observation?patient=pages-mark&_sort=-date&_cursor=" + mark);
    assertEquals(ids.subList(3, 5), ids(rest));
    given()
        .get("/fhir/Observation?patient=pages-mark&_sort=_id&_cursor=" + encoded(ids.get(3)))
        .then()
        .body("entry", hasSize(1))
        .body("entry[0].resource.id", equalTo(ids.get(4)));
  }

  private static String encoded(String key) {
    return Base64.getUrlEncoder()
        .withoutPadding()
        .encodeToString(key.getBytes(StandardCharsets.UTF_8));
  }

  @ParameterizedTest
  @ValueSource(strings = {"x", "MTIz", "MTIz.MTIz.MTIz", "eHg.eHg", "!.!", "."})
  void case34WhatIsNoMarkIsRefused(String mark) {
    given()
        .queryParam("_sort", "-date")
        .queryParam("_cursor", mark)
        .get("/fhir/Observation")
        .then()
        .statusCode(400)
        .body("resourceType", equalTo("OperationOutcome"))
        .body("issue[0].expression[0]", equalTo("_cursor"));
  }

  /** A client asks again and again for what was written at or after the last it has seen. */
  @Test
  void case37PollingByLastUpdatedSeesEveryChange() throws Exception {
    Fhir.put("Patient", "pages-poll", "").statusCode(201);
    ExecutorService writer = Executors.newSingleThreadExecutor();
    try {
      Future<Set<String>> written =
          writer.submit(
              () -> {
                Set<String> all = new HashSet<>();
                for (int i = 0; i < 6; i++) {
                  all.addAll(store("pages-poll", 15));
                }
                return all;
              });
      Set<String> seen = new HashSet<>();
      String since = "2026-01-01";
      boolean last = false;
      while (!last) {
        last = written.isDone();
        since = poll(since, seen);
      }
      assertEquals(written.get(), seen);
    } finally {
      writer.shutdownNow();
    }
  }

  private static String poll(String since, Set<String> seen) {
    String latest = since;
    String url =
        HERE
            + "Observation?patient=pages-poll&_sort=_lastUpdated&_count=7&_lastUpdated=ge"
            + since.replace("+", "%2B");
    while (url != null) {
      JsonPath page = page(url);
      seen.addAll(ids(page));
      List<String> times = page.getList("entry.resource.meta.lastUpdated");
      latest = times == null || times.isEmpty() ? latest : times.get(times.size() - 1);
      url = next(page);
    }
    return latest;
  }

  /** HAPI makes the answer when {@code _pretty} is given; stored text is sent when it is not. */
  @ParameterizedTest
  @ValueSource(
      strings = {
        "Patient?_id=pages-plain",
        "Patient?_id=pages-plain&_revinclude=Observation:patient",
        "Observation?patient=pages-plain&_count=2",
        "Observation?patient=pages-plain&_summary=false&_total=accurate",
        "Observation?patient=nobody&nothing=x",
        "PlanDefinition?_sort=_id"
      })
  void aPageOfStoredTextIsTheSameAsOneThatIsEncodedAnew(String query) {
    Fhir.put(
        "Patient",
        "pages-plain",
        ",\"name\":[{\"family\":\"Øster \\\"🦵\\\"\"}],\"text\":{\"status\":\"generated\","
            + "\"div\":\"<div xmlns=\\\"http://www.w3.org/1999/xhtml\\\">a &amp; b</div>\"}");
    if (ids(page(HERE + "Observation?patient=pages-plain")).isEmpty()) {
      store("pages-plain", 3);
      Fhir.post(Fhir.observation("pages-plain", "8302-2", "2026-01-06", "5.10")).statusCode(201);
    }
    ExtractableResponse<Response> plain = lenient(query);
    ExtractableResponse<Response> encoded = lenient(query + "&_pretty=true");
    assertEquals(encoded.contentType(), plain.contentType());
    assertFalse(plain.asString().contains("\n"));
    assertTrue(encoded.asString().contains("\n"));
    assertEquals(comparable(encoded), comparable(plain));
  }

  private static ExtractableResponse<Response> lenient(String query) {
    return given()
        .urlEncodingEnabled(false)
        .header("Prefer", "handling=lenient")
        .get(HERE + query)
        .then()
        .statusCode(200)
        .extract();
  }

  private static Object comparable(ExtractableResponse<Response> answer) {
    JsonPath bundle =
        new JsonPath(
            answer
                .asString()
                .replaceAll("_pretty=true&?", "")
                .replaceAll("[?&]\"", "\"")
                .replaceAll("[0-9a-f-]{36}\"(?=,\\s*\"issue\")", "id\"")
                .replaceAll("urn:uuid:[0-9a-f-]{36}", "urn"));
    Map<String, Object> comparable = bundle.getMap("");
    assertTrue(comparable.keySet().containsAll(Set.of("id", "meta")));
    comparable.keySet().removeAll(Set.of("id", "meta"));
    return comparable;
  }
}
