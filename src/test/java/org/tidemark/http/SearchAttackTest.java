package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.io.IOException;
import java.net.URI;
import java.net.URLEncoder;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpResponse;
import java.net.http.HttpResponse.BodyHandlers;
import java.nio.charset.StandardCharsets;
import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
import java.util.Set;
import org.hl7.fhir.r4.model.CapabilityStatement;
import org.hl7.fhir.r4.model.CapabilityStatement.CapabilityStatementRestResourceComponent;
import org.junit.jupiter.api.Test;

/** Values of search parameters that are meant for the database or for a pattern behind them. */
@QuarkusTest
class SearchAttackTest {
  private static final HttpClient CLIENT =
      HttpClient.newBuilder().version(HttpClient.Version.HTTP_1_1).build();

  /** OWASP, Web Security Testing Guide, 4.7.5: to end a text, to add a query, to wait, to write. */
  private static final List<String> SQL =
      List.of(
          "'",
          "' OR '1'='1",
          "') OR ('1'='1' --",
          "x' UNION SELECT family FROM patient --",
          "1; DROP TABLE resource; --",
          "'; SHUTDOWN; --",
          "'||pg_sleep(5)||'",
          "'; CALL SYSTEM_EXIT(0); --",
          "\\'; --",
          "%",
          "\u02bc OR 1=1 --",
          "ge2020-01-01' OR '1'='1",
          "http://loinc.org|x' OR '1'='1",
          "Patient/x' OR '1'='1",
          "{d '2020-01-01'}",
          "\u0000");

  private static HttpResponse<String> get(String path) throws IOException, InterruptedException {
    return CLIENT.send(
        HttpRequest.newBuilder(URI.create("http://localhost:8081/fhir/" + path))
            .timeout(Duration.ofSeconds(30))
            .build(),
        BodyHandlers.ofString());
  }

  private static String encoded(String text) {
    return URLEncoder.encode(text, StandardCharsets.UTF_8);
  }

  private static List<CapabilityStatementRestResourceComponent> types() throws Exception {
    return PlanPerson.CONTEXT
        .newJsonParser()
        .parseResource(CapabilityStatement.class, get("metadata").body())
        .getRestFirstRep()
        .getResource();
  }

  /**
   * Each parameter that the CapabilityStatement declares, alone and with modifiers, by each value.
   */
  @Test
  void sqlInjection() throws Exception {
    Attack attack = new Attack("SQL injection");
    String id = Fhir.put("Patient", "sql-target", ",\"active\":true").extract().path("id");
    List<String> places = new ArrayList<>();
    for (CapabilityStatementRestResourceComponent type : types()) {
      type.getSearchParam().forEach(p -> places.add(type.getType() + "?" + p.getName() + "="));
      places.add(type.getType() + "?_sort=");
      places.add(type.getType() + "?_id:not=");
      places.add(type.getType() + "?_include=");
      places.add(type.getType() + "?_count=");
      places.add(type.getType() + "?page=");
    }
    places.add("Patient?name:exact=");
    places.add("Patient?name:contains=");
    places.add("Observation?code:text=");
    places.add("Observation?subject.name=");
    places.add("Observation?_has:Provenance:target:agent=");
    places.add("Patient/");
    places.add("Patient/sql-target/_history/");
    places.add("_history?_since=");
    for (String place : places) {
      for (String value : SQL) {
        HttpResponse<String> got = get(place + encoded(value).replace("+", "%20"));
        String type = place.split("[?/]")[0];
        boolean narrowed = narrows(place);
        boolean found = narrowed && got.statusCode() == 200 && matches(got.body(), type);
        attack.tried(
            place + value, got.statusCode() >= 500 || found, got.statusCode() + got.body());
      }
    }
    for (String value : SQL) {
      for (String header :
          List.of("If-None-Exist", "If-Match", "If-None-Match", "If-Modified-Since")) {
        HttpResponse<String> got =
            CLIENT.send(
                HttpRequest.newBuilder(URI.create("http://localhost:8081/fhir/Patient"))
                    .header("Content-Type", "application/fhir+json")
                    .header(header, "identifier=" + encoded(value))
                    .POST(HttpRequest.BodyPublishers.ofString("{\"resourceType\":\"Patient\"}"))
                    .build(),
                BodyHandlers.ofString());
        attack.tried(header + value, got.statusCode() >= 500, got.statusCode() + got.body());
      }
    }
    assertEquals(200, get("Patient/" + id).statusCode());
    attack.end(3_000);
  }

  /** Searches whose value ought to find nothing; the others only page, sort or bring along. */
  private static boolean narrows(String place) {
    return place.contains("?")
        && Set.of(
                "_sort",
                "_id:not",
                "_include",
                "_revinclude",
                "_count",
                "page",
                "_since",
                "_total",
                "_summary",
                "_elements")
            .stream()
            .noneMatch(place::contains)
        && !place.contains("date")
        && !place.contains("_lastUpdated");
  }

  private static boolean matches(String body, String type) {
    return body.contains("\"mode\":\"match\"")
        && body.contains("\"resourceType\":\"" + type + "\"");
  }

  /**
   * Texts on which a pattern that goes back and forth takes a time that grows as their square or
   * worse (OWASP, ReDoS). Each is answered within the time of a few plain ones.
   */
  @Test
  void regularExpressions() throws Exception {
    Attack attack = new Attack("regular expressions");
    int much = 6_000;
    List<String> texts =
        List.of(
            "a".repeat(much) + "!",
            "1".repeat(much) + "x",
            "2020-01-01T00:00:00." + "0".repeat(much),
            " ".repeat(much) + "x",
            ",".repeat(much),
            "|".repeat(much),
            "\\,".repeat(much / 2),
            "$".repeat(much),
            "(a+)+$".repeat(much / 6),
            "/".repeat(much),
            ".".repeat(much),
            "-".repeat(much),
            "a:".repeat(much / 2),
            "0e".repeat(much / 2));
    for (CapabilityStatementRestResourceComponent type : types()) {
      if (!Set.of("Patient", "Observation", "CarePlan", "Goal", "Task").contains(type.getType())) {
        continue;
      }
      for (var parameter : type.getSearchParam()) {
        for (String text : texts) {
          long start = System.nanoTime();
          HttpResponse<String> got =
              get(type.getType() + "?" + parameter.getName() + "=" + encoded(text));
          Duration took = Duration.ofNanos(System.nanoTime() - start);
          attack.tried(
              type.getType() + "?" + parameter.getName() + "=" + text.substring(0, 20),
              took.compareTo(Duration.ofSeconds(5)) > 0 || got.statusCode() >= 500,
              took + " " + got.statusCode() + got.body());
        }
      }
    }
    for (String text : texts) {
      for (String header :
          List.of(
              "Accept", "Prefer", "If-Match", "X-Request-ID", "Authorization", "Accept-Language")) {
        long start = System.nanoTime();
        HttpResponse<String> got =
            CLIENT.send(
                HttpRequest.newBuilder(URI.create("http://localhost:8081/fhir/Patient?_count=0"))
                    .header(header, text)
                    .build(),
                BodyHandlers.ofString());
        Duration took = Duration.ofNanos(System.nanoTime() - start);
        attack.tried(
            header + text.substring(0, 20),
            took.compareTo(Duration.ofSeconds(5)) > 0 || got.statusCode() >= 500,
            took + " " + got.statusCode() + got.body());
      }
    }
    attack.end(500);
    assertTrue(get("metadata").statusCode() == 200);
  }
}
