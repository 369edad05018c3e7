package org.tidemark.load;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import io.quarkus.test.junit.QuarkusTest;
import java.io.ByteArrayOutputStream;
import java.io.IOException;
import java.io.PrintStream;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.IntStream;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** Files are loaded into the running service, through a server that loses what is said. */
@QuarkusTest
class LoadCommandTest {
  private static final String SERVICE = "http://localhost:8081/fhir";
  private static final int OF_EACH = 40;
  private static final Pattern SENT =
      Pattern.compile("\"url\":\"Observation/((\\w+-\\d+)-(\\d+))\"");

  @TempDir Path folder;

  private final ByteArrayOutputStream told = new ByteArrayOutputStream();
  private String person;
  private Path file;

  @BeforeEach
  void names() {
    person = "load" + Long.toString(System.nanoTime(), 36);
    file = folder.resolve("before.ndjson");
  }

  /** Of each person the record and then Observations, people in turns. */
  private List<String> lines(int people) {
    List<String> lines = new ArrayList<>();
    for (int p = 0; p < people; p++) {
      lines.add(patient(p));
    }
    for (int n = 0; n < OF_EACH; n++) {
      for (int p = 0; p < people; p++) {
        lines.add(observation(p, n));
      }
    }
    return lines;
  }

  private String patient(int p) {
    return "{\"resourceType\":\"Patient\",\"id\":\"%s-%d\"}".formatted(person, p);
  }

  private String observation(int p, int n) {
    return """
        {"resourceType":"Observation","id":"%1$s-%2$d-%3$d","status":"final",\
        "code":{"coding":[{"system":"http://loinc.org","code":"29463-7"}]},\
        "subject":{"reference":"Patient/%1$s-%2$d"},"effectiveDateTime":"2019-05-01T07:30:00Z",\
        "valueQuantity":{"value":%3$d,"system":"http://unitsofmeasure.org","code":"kg"}}"""
        .formatted(person, p, n);
  }

  private int load(String base, String... more) {
    List<String> args = new ArrayList<>(List.of(file.toString(), "--to", base));
    args.addAll(List.of(more));
    return LoadCommand.run(
        new PrintStream(told, true, StandardCharsets.UTF_8), args.toArray(String[]::new));
  }

  private int stored(int p) {
    return given()
        .queryParam("subject", "Patient/" + person + "-" + p)
        .queryParam("_summary", "count")
        .get("/fhir/Observation")
        .then()
        .statusCode(200)
        .extract()
        .path("total");
  }

  private void assertEachIsWrittenOnce(int people) {
    for (int p = 0; p < people; p++) {
      assertEquals(OF_EACH, stored(p));
      List<String> versions =
          given()
              .queryParam("subject", "Patient/" + person + "-" + p)
              .queryParam("_count", 100)
              .get("/fhir/Observation")
              .then()
              .extract()
              .path("entry.resource.meta.versionId");
      assertTrue(versions.stream().allMatch("1"::equals), versions::toString);
    }
  }

  private List<JsonNode> refused() throws IOException {
    List<JsonNode> all = new ArrayList<>();
    for (String line : Files.readAllLines(folder.resolve("before.ndjson.refused"))) {
      all.add(new ObjectMapper().readTree(line));
    }
    return all;
  }

  @Test
  void allIsStoredAndASecondRunSendsNothing() throws IOException {
    Files.write(file, lines(3));
    assertEquals(0, load(SERVICE, "--records", "25"), told::toString);
    assertEachIsWrittenOnce(3);
    try (Between none = new Between(number -> Between.Fate.PASS)) {
      assertEquals(0, load(none.base()), told::toString);
      assertEquals(List.of(), none.transactions);
    }
  }

  @Test
  void afterABreakItGoesOnAndWritesNothingTwice() throws IOException {
    Files.write(file, lines(3));
    Between.Fates breaks =
        number ->
            number < 4
                ? Between.Fate.PASS
                : number < 6 ? Between.Fate.LOSE_THE_ANSWER : Between.Fate.LOSE_THE_REQUEST;
    try (Between broken = new Between(breaks)) {
      assertEquals(3, load(broken.base(), "--records", "10", "--patience", "1"), told::toString);
      assertTrue(told.toString(StandardCharsets.UTF_8).contains("goes on from here"));
      int before = stored(0) + stored(1) + stored(2);
      assertTrue(before > 0 && before < 3 * OF_EACH, "stored before: " + before);
    }
    assertEquals(0, load(SERVICE, "--records", "10", "--connections", "2"), told::toString);
    assertEachIsWrittenOnce(3);
  }

  @Test
  void aLostAnswerIsAskedForAndALostRequestIsSentAgain() throws IOException {
    Files.write(file, lines(2));
    Between.Fates some =
        number ->
            number % 4 == 1
                ? Between.Fate.LOSE_THE_ANSWER
                : number % 4 == 3 ? Between.Fate.LOSE_THE_REQUEST : Between.Fate.PASS;
    try (Between between = new Between(some)) {
      assertEquals(0, load(between.base(), "--records", "20"), told::toString);
    }
    assertEachIsWrittenOnce(2);
  }

  @Test
  void aServiceThatTellsToWaitIsLeftAloneForThatLong() throws IOException {
    Files.write(file, List.of(patient(0), observation(0, 1)));
    try (Between busy =
        new Between(number -> number == 1 ? Between.Fate.TELL_TO_WAIT : Between.Fate.PASS)) {
      assertEquals(0, load(busy.base()), told::toString);
      assertEquals(2, busy.transactions.size());
      assertTrue(busy.times.get(1) - busy.times.get(0) >= 2_000_000_000L);
    }
    assertEquals(1, stored(0));
  }

  @Test
  void whatIsRefusedIsListedAndTheRestIsStored() throws IOException {
    List<String> lines = lines(1);
    lines.set(5, lines.get(5).replace("\"final\"", "\"finished\""));
    lines.set(9, lines.get(9).replace("Patient/" + person + "-0", "Patient/" + person + "-none"));
    lines.set(20, "{\"resourceType\":");
    lines.set(21, "{\"resourceType\":\"Observation\",\"status\":\"final\"}");
    Files.write(file, lines);
    assertEquals(1, load(SERVICE), told::toString);
    assertEquals(OF_EACH - 4, stored(0));
    List<JsonNode> refused = refused();
    assertEquals(
        List.of(6L, 10L, 21L, 22L),
        refused.stream().map(each -> each.get("line").asLong()).sorted().toList());
    JsonNode status = of(refused, 6);
    assertEquals("Observation.status", status.at("/elements/0").asText(), status::toString);
    assertEquals("OperationOutcome", status.at("/outcome/resourceType").asText());
    assertTrue(status.get("status").asInt() >= 400);
    assertEquals("Observation.subject", of(refused, 10).at("/elements/0").asText());
    assertTrue(told.toString(StandardCharsets.UTF_8).contains("4 lines were refused"));
  }

  private static JsonNode of(List<JsonNode> refused, long line) {
    return refused.stream()
        .filter(each -> each.get("line").asLong() == line)
        .findFirst()
        .orElseThrow();
  }

  @Test
  void manyThatAreRefusedKeepNoneOfTheOthersOut() throws IOException {
    List<String> lines = lines(1);
    for (int i = 1; i < lines.size(); i += 2) {
      lines.set(i, lines.get(i).replace("\"final\"", "\"finished\""));
    }
    Files.write(file, lines);
    assertEquals(1, load(SERVICE), told::toString);
    assertEquals(OF_EACH / 2, stored(0));
    assertEquals(OF_EACH / 2, refused().size());
  }

  @Test
  void thePersonsRecordsAreSentInTheirOrder() throws IOException {
    Files.write(file, lines(6));
    try (Between between = new Between(number -> Between.Fate.PASS)) {
      assertEquals(0, load(between.base(), "--records", "7"), told::toString);
      for (int p = 0; p < 6; p++) {
        String one = person + "-" + p;
        List<Integer> order = new ArrayList<>();
        for (String transaction : between.transactions) {
          for (Matcher sent = SENT.matcher(transaction); sent.find(); ) {
            if (sent.group(2).equals(one)) {
              order.add(Integer.parseInt(sent.group(3)));
            }
          }
        }
        assertEquals(IntStream.range(0, OF_EACH).boxed().toList(), order);
      }
    }
  }

  @Test
  void recordsAreFoundByTheirIdentifiersAndBundlesAreTakenWhole() throws IOException {
    String known = "\"identifier\":[{\"system\":\"urn:test:load\",\"value\":\"" + person + "\"}]";
    String bundle =
        "{\"resourceType\":\"Bundle\",\"type\":\"collection\",\"entry\":[{\"resource\":%s},{\"resource\":%s}]}"
            .formatted(patient(0), observation(0, 1));
    Files.write(
        file,
        List.of(
            "{\"resourceType\":\"Patient\"," + known + "}",
            bundle,
            "{\"resourceType\":\"Patient\"," + known + ",\"active\":true}",
            "{\"resourceType\":\"Patient\"," + known.replace(person, person + ",2") + "}",
            "{\"resourceType\":\"Patient\",\"identifier\":[{\"value\":\"" + person + "\"}]}"));
    assertEquals(1, load(SERVICE), told::toString);
    assertEquals(5, refused().get(0).get("line").asInt(), told::toString);
    assertEquals(1, refused().size());
    assertEquals(1, stored(0));
    given()
        .queryParam("identifier", "urn:test:load|" + person)
        .get("/fhir/Patient")
        .then()
        .body("total", org.hamcrest.Matchers.equalTo(1));
  }

  @Test
  void aRecordThatComesTwiceIsWrittenTwiceInItsOrder() throws IOException {
    Files.write(
        file,
        List.of(
            patient(0), observation(0, 1), observation(0, 1).replace("\"final\"", "\"amended\"")));
    assertEquals(0, load(SERVICE), told::toString);
    given()
        .get("/fhir/Observation/" + person + "-0-1")
        .then()
        .body("status", org.hamcrest.Matchers.equalTo("amended"))
        .body("meta.versionId", org.hamcrest.Matchers.equalTo("2"));
  }

  @Test
  void whatIsNoEndpointAndOtherFilesThanThoseOfTheJournalStopIt() throws IOException {
    Files.write(file, lines(1));
    assertEquals(3, load("http://localhost:8081/nowhere"));
    assertFalse(Files.exists(folder.resolve("before.ndjson.journal")));
    assertEquals(0, load(SERVICE), told::toString);
    Files.write(file, lines(2));
    assertEquals(3, load(SERVICE));
    assertTrue(told.toString(StandardCharsets.UTF_8).contains("is that of other files"));
    assertEquals(2, load("ftp://somewhere"));
  }
}
