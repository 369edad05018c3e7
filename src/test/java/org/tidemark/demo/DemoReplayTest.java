package org.tidemark.demo;

import static org.junit.jupiter.api.Assertions.assertEquals;

import io.quarkus.test.junit.QuarkusTest;
import io.restassured.RestAssured;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.TreeMap;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.junit.jupiter.api.Test;

/**
 * Every diary, sent through the endpoint, leads to the decisions in {@code
 * demo-bundles/*-expected.txt}; and the lines that the demo tells people to try do what it says.
 */
@QuarkusTest
class DemoReplayTest {
  private static final Path ACTUAL = Path.of("target", "demo-decisions");

  @ConfigProperty(name = "tidemark.base-url")
  String base;

  @Test
  void everyDiaryLeadsToItsDecisions() throws IOException {
    DemoClient client = new DemoClient(base);
    client.transact(Diaries.clinic());
    Sending.everyone(client, () -> {});
    Timeline timeline = new Timeline(client);
    Map<String, List<String>> expected = new TreeMap<>();
    Map<String, List<String>> actual = new TreeMap<>();
    Files.createDirectories(ACTUAL);
    for (String person : Diaries.PEOPLE) {
      List<String> lines = timeline.of(person).stream().map(Moment::line).toList();
      Files.write(ACTUAL.resolve(person + "-expected.txt"), lines);
      actual.put(person, lines);
      expected.put(person, expected(person));
    }
    assertEquals(joined(expected), joined(actual));
    soreSessionEasesThePlan();
  }

  private void soreSessionEasesThePlan() {
    RestAssured.given()
        .contentType("application/fhir+json")
        .body(Tries.SORE_SESSION)
        .post(base + "/Observation")
        .then()
        .statusCode(201);
    String latest =
        RestAssured.get(
                base
                    + "/GuidanceResponse?patient=Patient/"
                    + Tries.PERSON
                    + "&_sort=-_lastUpdated&_count=1")
            .path("entry[0].resource.extension.find { it.url.endsWith('/decision') }.valueCode");
    assertEquals("regress", latest);
    RestAssured.get(base + "/CarePlan/" + Tries.PERSON + "-plan").then().statusCode(200);
  }

  private static List<String> expected(String person) throws IOException {
    return Files.readAllLines(DemoBundles.FOLDER.resolve(person + "-expected.txt")).stream()
        .filter(line -> !line.isBlank() && !line.startsWith("#"))
        .toList();
  }

  private static String joined(Map<String, List<String>> lines) {
    List<String> all = new ArrayList<>();
    lines.forEach(
        (person, decisions) -> {
          all.add(person);
          all.addAll(decisions);
        });
    return String.join("\n", all);
  }
}
