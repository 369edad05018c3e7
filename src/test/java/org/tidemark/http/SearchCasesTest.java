package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.MatcherAssert.assertThat;
import static org.hamcrest.Matchers.aMapWithSize;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.hamcrest.Matchers.hasItems;
import static org.hamcrest.Matchers.hasKey;
import static org.hamcrest.Matchers.hasSize;
import static org.hamcrest.Matchers.not;
import static org.hamcrest.Matchers.nullValue;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.restassured.path.json.JsonPath;
import io.restassured.response.ValidatableResponse;
import java.util.Arrays;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.TreeSet;
import java.util.stream.Collectors;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/** How searches are read: what each parameter, prefix and modifier finds, and what is refused. */
@QuarkusTest
class SearchCasesTest {
  private static final String CODES = "http://codes.example/number";

  /** Observations of one person, each under a letter that says what its time is. */
  private static final Map<String, String> TIMES =
      Map.of(
          "day", "\"effectiveDateTime\":\"2026-01-02\"",
          "evening", "\"effectiveDateTime\":\"2026-01-02T23:30:00-08:00\"",
          "month", "\"effectiveDateTime\":\"2026-01\"",
          "period", "\"effectivePeriod\":{\"start\":\"2026-01-01\",\"end\":\"2026-01-03\"}",
          "open", "\"effectivePeriod\":{\"start\":\"2026-01-02T08:00:00Z\"}",
          "ten", "\"effectiveDateTime\":\"2027-01-01T10:00:00Z\"",
          "india", "\"effectiveDateTime\":\"2027-01-01T15:30:00+05:30\"",
          "fraction", "\"effectiveDateTime\":\"2027-01-01T10:00:30.5Z\"");

  @BeforeEach
  void people() {
    if (given().get("/fhir/Patient/cases").statusCode() == 200) {
      return;
    }
    Fhir.put("Patient", "cases", "").statusCode(201);
    TIMES.forEach((name, time) -> observation("cases-" + name, "," + time));
    observation("cases-timeless", "");
    for (String value : List.of("a,b", "a|b", "a$b", "a\\\\b")) {
      Fhir.put(
              "Practitioner",
              "cases-" + (int) value.charAt(1),
              ",\"identifier\":[{\"system\":\"" + CODES + "\",\"value\":\"" + value + "\"}]")
          .statusCode(201);
    }
    Fhir.put("Practitioner", "cases-solo", ",\"identifier\":[{\"value\":\"solo\"}]")
        .statusCode(201);
    Fhir.put("Practitioner", "cases-none", "").statusCode(201);
  }

  /** Its code means nothing to the service, which stores it and computes nothing from it. */
  private static void observation(String id, String members) {
    Fhir.put(
            "Observation",
            id,
            ",\"status\":\"final\",\"code\":{\"coding\":[{\"system\":\"http://loinc.org\","
                + "\"code\":\"8302-2\"}]},\"subject\":{\"reference\":\"Patient/cases\"}"
                + members)
        .statusCode(201);
  }

  private static ValidatableResponse search(String type, String... query) {
    io.restassured.specification.RequestSpecification request = given();
    for (int i = 0; i < query.length; i += 2) {
      request.queryParam(query[i], query[i + 1]);
    }
    return request.get("/fhir/" + type).then();
  }

  private static Set<String> ids(ValidatableResponse answer) {
    List<String> ids =
        answer.statusCode(200).extract().jsonPath().getList("entry.resource.id", String.class);
    return ids == null
        ? Set.of()
        : ids.stream().map(id -> id.replace("cases-", "")).collect(Collectors.toSet());
  }

  private static Set<String> words(String words) {
    return words == null ? Set.of() : new TreeSet<>(Arrays.asList(words.split(" ")));
  }

  // ---- what is not offered ----

  @ParameterizedTest
  @ValueSource(
      strings = {"patinet", "_tag", "_profile", "_security", "patient.name", "status:text"})
  void case31And32WhatIsNotOfferedIsRefusedUnlessTheClientIsLenient(String name) {
    search("Observation", "patient", "cases", name, "x")
        .statusCode(400)
        .body("issue[0].details.coding[0].code", equalTo("unknown-parameter"))
        .body("issue[0].expression[0]", equalTo(name));
    given()
        .header("Prefer", "handling=strict")
        .queryParam(name, "x")
        .get("/fhir/Observation")
        .then()
        .statusCode(400);
    JsonPath lenient =
        given()
            .header("Prefer", "return=minimal, handling=lenient")
            .queryParam("patient", "cases")
            .queryParam(name, "x")
            .get("/fhir/Observation")
            .then()
            .statusCode(200)
            .body("total", equalTo(9))
            .body("entry.findAll { it.search.mode == 'match' }", hasSize(9))
            .extract()
            .jsonPath();
    assertEquals(
        "http://localhost:8081/fhir/Observation?patient=cases",
        lenient.getString("link.find { it.relation == 'self' }.url"));
    String outcome = "entry.find { it.search.mode == 'outcome' }.resource.";
    assertEquals("OperationOutcome", lenient.getString(outcome + "resourceType"));
    assertEquals("warning", lenient.getString(outcome + "issue[0].severity"));
    assertEquals(name, lenient.getString(outcome + "issue[0].expression[0]"));
  }

  @Test
  void case31AValueThatCannotBeUnderstoodIsRefusedToALenientClientToo() {
    given()
        .header("Prefer", "handling=lenient")
        .queryParam("date", "yesterday")
        .get("/fhir/Observation")
        .then()
        .statusCode(400)
        .body("issue[0].details.coding[0].code", equalTo("bad-request"));
  }

  @Test
  void case31TheNextPageOfALenientSearchIsWithoutWhatWasNotObeyed() {
    String next =
        given()
            .header("Prefer", "handling=lenient")
            .queryParam("patient", "cases")
            .queryParam("_include", "Observation:nothing")
            .queryParam("_include", "Observation:patient")
            .queryParam("_count", "2")
            .get("/fhir/Observation")
            .then()
            .statusCode(200)
            .body("entry.search.mode", equalTo(List.of("match", "match", "include", "outcome")))
            .extract()
            .path("link.find { it.relation == 'next' }.url");
    assertThat(next, not(containsString("nothing")));
    given().urlEncodingEnabled(false).get(next).then().statusCode(200).body("entry", hasSize(3));
  }

  // ---- times ----

  @ParameterizedTest(name = "date={0}")
  @CsvSource({
    "2026-01-02, day",
    "eq2026-01-02, day",
    "2026-01-03, evening",
    "2026-01, day evening month period",
    "2026-01-02T23:30:00-08:00, evening",
    "2026-01-03T07:30:00Z, evening",
    "2026, day evening month period",
    "ne2026-01-02, evening month period open ten india fraction",
    "sa2026-01-02, evening ten india fraction",
    "eb2026-01-02,",
    "ge2026-01-03, evening month open ten india fraction",
    "lt2026-01-02, month period",
    "ap2026-01-03, day evening month period open"
  })
  void case35ADateIsThatDayInUtcAndMatchesWhatLiesWithinIt(String date, String found) {
    assertEquals(
        words(found), new TreeSet<>(ids(search("Observation", "patient", "cases", "date", date))));
  }

  @Test
  void case35WhatHasNoTimeIsFoundOnlyAsMissing() {
    assertEquals(
        Set.of("timeless"), ids(search("Observation", "patient", "cases", "date:missing", "true")));
    assertEquals(
        TIMES.keySet(), ids(search("Observation", "patient", "cases", "date:missing", "false")));
    search("Observation", "date:missing", "perhaps").statusCode(400);
  }

  @ParameterizedTest(name = "date={0}")
  @CsvSource({
    "2027-01-01T10:00Z, ten india fraction",
    "2027-01-01T10:00:00Z, ten india",
    "2027-01-01T15:30:00+05:30, ten india",
    "2027-01-01T10:00:30Z, fraction",
    "2027-01-01T10:00:30.5Z, fraction",
    "2027-01-01T10:00:30.500Z, fraction",
    "2027-01-01T10:00:30.501Z,",
    "gt2027-01-01T10:00:00Z, open fraction",
    "ge2027-01-01T10:00:00Z, open ten india fraction",
    "sa2027-01-01T10:00:00Z, fraction",
    "sa2027-01-01T10:00Z,",
    "le2027-01-01T10:00:00Z, day evening month period open ten india",
    "lt2027-01-01T10:00:00Z, day evening month period open",
    "eb2027-01-01T10:00:01Z, day evening month period ten india",
    "eb2027-01-01T10:00:00Z, day evening month period",
    "ne2027-01-01T10:00:00Z, day evening month period open fraction"
  })
  void case36PrefixesAndPrecisionsAtTheirBoundaries(String date, String found) {
    assertEquals(
        words(found), new TreeSet<>(ids(search("Observation", "patient", "cases", "date", date))));
  }

  @ParameterizedTest
  @ValueSource(strings = {"2026-13", "2026-02-30", "xx2026", "2026-01-01T", "today", "ge"})
  void case36WhatIsNoTimeIsRefused(String date) {
    search("Observation", "date", date)
        .statusCode(400)
        .body("issue[0].expression[0]", equalTo("date"));
    search("Observation", "_lastUpdated", date).statusCode(400);
  }

  @Test
  void case36LastUpdatedTakesAllPrefixes() {
    String updated =
        given().get("/fhir/Observation/cases-day").jsonPath().getString("meta.lastUpdated");
    for (String prefix : List.of("", "eq", "ge", "le", "ap")) {
      assertTrue(found(prefix + updated), prefix);
    }
    for (String prefix : List.of("ne", "gt", "lt", "sa", "eb")) {
      assertEquals(false, found(prefix + updated), prefix);
    }
    assertTrue(found("gt2026-01-01"));
    assertTrue(found("sa2026-01-01"));
    assertTrue(found("lt2300"));
    assertTrue(found("eb2300"));
    assertTrue(found("ne2026-01-01"));
  }

  private static boolean found(String lastUpdated) {
    return ids(search("Observation", "_id", "cases-day", "_lastUpdated", lastUpdated))
        .contains("day");
  }

  // ---- codes and references ----

  @ParameterizedTest(name = "identifier={0}")
  @CsvSource(
      quoteCharacter = '"',
      delimiter = ';',
      value = {
        "http://codes.example/number|a\\,b; 44",
        "a\\,b; 44",
        "a\\|b; 124",
        "a\\$b; 36",
        "a\\\\b; 92",
        "a\\,b,solo; 44 solo",
        "http://codes.example/number|; 36 44 92 124",
        "|solo; solo",
        "|a\\,b;",
        "solo; solo",
        "SOLO;",
        "http://codes.example/number|solo;"
      })
  void case38CodesWithAndWithoutTheirSystemAndEscaped(String identifier, String found) {
    assertEquals(words(found), new TreeSet<>(ids(practitioners("identifier", identifier))));
  }

  private static ValidatableResponse practitioners(String... query) {
    String[] all = Arrays.copyOf(query, query.length + 2);
    all[query.length] = "_id";
    all[query.length + 1] = "cases-44,cases-124,cases-36,cases-92,cases-solo,cases-none";
    return search("Practitioner", all);
  }

  @Test
  void case38ACodeCanBeExcludedOrMissing() {
    assertEquals(Set.of("none", "solo"), ids(practitioners("identifier:not", CODES + "|")));
    assertEquals(
        Set.of("none", "124", "36", "92"), ids(practitioners("identifier:not", "a\\,b,solo")));
    assertEquals(Set.of("none"), ids(practitioners("identifier:missing", "true")));
    assertEquals(
        Set.of("solo", "44"),
        ids(practitioners("identifier:missing", "false", "identifier:not", "a\\|b,a\\$b,a\\\\b")));
    assertEquals(Set.of(), ids(search("Observation", "patient", "cases", "status:not", "final")));
  }

  @ParameterizedTest
  @ValueSource(strings = {"a|b|c", "|", ""})
  void case38WhatIsNoCodeIsRefused(String code) {
    search("Observation", "code", code)
        .statusCode(400)
        .body("issue[0].expression[0]", equalTo("code"));
  }

  @Test
  void case39AReferenceIsFoundInAnyFormAndAChainIsRefused() {
    for (String form :
        List.of("cases", "Patient/cases", "http://localhost:8081/fhir/Patient/cases")) {
      assertEquals(9, ids(search("Observation", "patient", form)).size(), form);
      assertEquals(9, ids(search("Observation", "subject", form)).size(), form);
      assertEquals(9, ids(search("Observation", "subject:Patient", form)).size(), form);
    }
    assertEquals(
        Set.of(),
        ids(search("Observation", "patient", "https://elsewhere.example/fhir/Patient/cases")));
    assertEquals(
        Set.of(), ids(search("Observation", "patient", "cases", "patient:missing", "true")));
    assertEquals(
        9, ids(search("Observation", "patient", "cases", "subject:missing", "false")).size());
    assertEquals(
        9, ids(search("Observation", "patient", "cases", "based-on:missing", "true")).size());
    for (String chain :
        List.of(
            "patient.identifier",
            "subject:Patient.identifier",
            "patient:identifier",
            "subject:Goal",
            "_has:Provenance:target:recorded")) {
      search("Observation", chain, "x")
          .statusCode(400)
          .body("issue[0].details.coding[0].code", equalTo("unknown-parameter"));
    }
  }

  // ---- GET and POST ----

  @Test
  void case41ASearchByPostEqualsOneByGetAndMayBeBoth() {
    Set<String> got =
        ids(search("Observation", "patient", "cases", "date", "2026", "_sort", "-date"));
    assertEquals(4, got.size());
    assertEquals(
        got,
        ids(
            given()
                .contentType("application/x-www-form-urlencoded")
                .formParam("patient", "cases")
                .formParam("date", "2026")
                .formParam("_sort", "-date")
                .post("/fhir/Observation/_search")
                .then()));
    ValidatableResponse both =
        given()
            .contentType("application/x-www-form-urlencoded")
            .queryParam("patient", "cases")
            .queryParam("date", "ge2026-01-01")
            .formParam("date", "le2026-12-31")
            .formParam("date:missing", "false")
            .post("/fhir/Observation/_search")
            .then();
    assertEquals(
        ids(
            given()
                .queryParam("patient", "cases")
                .queryParam("date", "ge2026-01-01", "le2026-12-31")
                .get("/fhir/Observation")
                .then()),
        ids(both));
    String self = both.extract().path("link.find { it.relation == 'self' }.url");
    assertEquals(ids(both), ids(given().urlEncodingEnabled(false).get(self).then()));
    assertEquals(
        got,
        ids(
            given()
                .queryParam("patient", "cases")
                .queryParam("date", "2026")
                .get("/fhir/Observation/_search")
                .then()));
  }

  // ---- the form of the answer ----

  @ParameterizedTest
  @CsvSource({"_count, 0", "_summary, count"})
  void case42OnlyTheNumber(String name, String value) {
    search("Observation", "patient", "cases", name, value)
        .statusCode(200)
        .body("total", equalTo(9))
        .body("entry", nullValue())
        .body("link.relation", not(hasItem("next")));
  }

  @Test
  void case42TheTotalIsToldAsAsked() {
    search("Observation", "patient", "cases", "_count", "4").body("total", nullValue());
    search("Observation", "patient", "cases", "_count", "4", "_total", "accurate")
        .body("total", equalTo(9))
        .body("entry", hasSize(4));
    search("Observation", "patient", "cases", "_count", "4", "_total", "estimate")
        .body("total", equalTo(9));
    search("Observation", "patient", "cases", "_total", "none")
        .body("total", nullValue())
        .body("entry", hasSize(9));
    search("Observation", "_total", "most").statusCode(400);
    search("Observation", "_count", "-1").statusCode(400);
  }

  @Test
  void case42ElementsAndSummariesAreMarked() {
    search("Observation", "_id", "cases-day", "_elements", "status")
        .statusCode(200)
        .body("entry[0].resource.meta.tag.code", hasItem("SUBSETTED"))
        .body("entry[0].resource.status", equalTo("final"))
        .body("entry[0].resource", not(hasKey("effectiveDateTime")))
        .body("entry[0].search.mode", equalTo("match"));
    search("Observation", "_id", "cases-day", "_summary", "true")
        .statusCode(200)
        .body("entry[0].resource.meta.tag.code", hasItem("SUBSETTED"))
        .body("entry[0].resource.id", equalTo("cases-day"));
    search("Observation", "_id", "cases-day", "_summary", "data")
        .statusCode(200)
        .body("entry[0].resource.meta.tag.code", hasItem("SUBSETTED"));
    search("Observation", "_id", "cases-day", "_summary", "text").statusCode(200);
    search("Observation", "_id", "cases-day", "_summary", "false")
        .statusCode(200)
        .body("entry[0].resource.meta", not(hasKey("tag")))
        .body("entry[0].resource", aMapWithSize(7));
    search("Observation", "_summary", "much").statusCode(400);
  }

  @Test
  void case42WhatWasNotObeyedIsToldInFullWhateverTheElements() {
    given()
        .header("Prefer", "handling=lenient")
        .queryParam("_id", "cases-day")
        .queryParam("_elements", "status")
        .queryParam("nothing", "x")
        .get("/fhir/Observation")
        .then()
        .statusCode(200)
        .body("entry.search.mode", equalTo(List.of("match", "outcome")))
        .body("entry[1].resource.issue[0].severity", equalTo("warning"))
        .body("entry[1].resource.issue[0].details.text", containsString("nothing"));
  }

  @Test
  void case42InXml() {
    search("Observation", "patient", "cases", "_format", "xml", "_include", "Observation:patient")
        .statusCode(200)
        .contentType(containsString("application/fhir+xml"))
        .body("Bundle.total.@value", equalTo("9"))
        .body("Bundle.entry.findAll { it.search.mode.@value == 'match' }.size()", equalTo(9))
        .body("Bundle.entry.findAll { it.search.mode.@value == 'include' }.size()", equalTo(1));
  }

  @Test
  void case42SortedByEachKeyUpAndDown() {
    sorted("Observation", "date", "month period day open evening india ten fraction");
    sorted("Observation", "-date", "fraction india ten evening open day month period");
    sorted(
        "Observation", "status,-_id", "timeless ten period open month india fraction evening day");
    sorted("Observation", "_id", "day evening fraction india month open period ten timeless");
    given()
        .queryParam("_sort", "identifier")
        .queryParam("_id", "cases-44,cases-124,cases-36,cases-92,cases-solo,cases-none")
        .get("/fhir/Practitioner")
        .then()
        .body(
            "entry.resource.id",
            equalTo(
                List.of(
                    "cases-none", "cases-36", "cases-44", "cases-92", "cases-124", "cases-solo")));
    search("Observation", "_sort", "nothing")
        .statusCode(400)
        .body("issue[0].details.text", containsString("date"));
    search("Observation", "_sort", "based-on").statusCode(400);
    search("Observation", "_sort", "date,").statusCode(400);
    search("Observation", "_sort", "date,status,code,category").statusCode(200);
    search("Observation", "_sort", "date,status,code,category,_id").statusCode(400);
  }

  /** Those named come in this order; what has no time of its own is left aside. */
  private static void sorted(String type, String by, String order) {
    List<String> found =
        search(type, "patient", "cases", "_sort", by)
            .statusCode(200)
            .extract()
            .jsonPath()
            .getList("entry.resource.id", String.class);
    List<String> expected = Arrays.stream(order.split(" ")).map(id -> "cases-" + id).toList();
    assertEquals(expected, found.stream().filter(expected::contains).toList(), by);
  }

  @Test
  void case43TheStatementNamesTheModifiers() {
    given()
        .get("/fhir/metadata")
        .then()
        .body(
            "rest[0].resource.find { it.type == 'Observation' }.searchParam"
                + ".find { it.name == 'status' }.documentation",
            containsString("Modifiers: :missing, :not."))
        .body("rest[0].resource.type", hasItems("Observation"));
  }

  /** Each of one person, under its number and unit as the id. */
  private static void quantities() {
    if (given().get("/fhir/Patient/amounts").statusCode() == 200) {
      return;
    }
    Fhir.put("Patient", "amounts", "").statusCode(201);
    for (String[] sent :
        new String[][] {
          {"120", "deg", "120"},
          {"120.5", "deg", "120.5"},
          {"119.4", "deg", "119.4"},
          {"2.0944", "rad", "2.0944"},
          {"5-in", "[in_i]", "5"},
          {"12.7-cm", "cm", "12.7"},
          {"0.127-m", "m", "0.127"},
          {"12.7-deg", "deg", "12.7"},
          {"140.0-score", "{score}", "140.0"}
        }) {
      Fhir.put(
              "Observation",
              "amount-" + sent[0],
              ",\"status\":\"final\",\"code\":{\"text\":\"any\"},\"subject\":{\"reference\":"
                  + "\"Patient/amounts\"},\"valueQuantity\":{\"value\":"
                  + sent[2]
                  + ",\"unit\":\"as sent\",\"system\":\"http://unitsofmeasure.org\",\"code\":\""
                  + sent[1]
                  + "\"}")
          .statusCode(201);
    }
    Fhir.put(
            "Observation",
            "amount-none",
            ",\"status\":\"final\",\"code\":{\"text\":\"any\"},\"subject\":{\"reference\":"
                + "\"Patient/amounts\"},\"valueString\":\"120\"")
        .statusCode(201);
  }

  /** The bounds follow R4's rules for prefixes and precision of quantities (search.html#prefix). */
  @ParameterizedTest
  @CsvSource(
      delimiter = ';',
      value = {
        "120|http://unitsofmeasure.org|deg; 120 2.0944",
        "120.0|http://unitsofmeasure.org|deg; 120 2.0944",
        "1.2e2|http://unitsofmeasure.org|deg; 120 120.5 119.4 2.0944",
        "gt120|http://unitsofmeasure.org|deg; 120.5 2.0944",
        "ge120|http://unitsofmeasure.org|deg; 120 120.5 2.0944",
        "lt120|http://unitsofmeasure.org|deg; 119.4 12.7-deg",
        "le120|http://unitsofmeasure.org|deg; 120 119.4 12.7-deg",
        "ne120|http://unitsofmeasure.org|deg; 120.5 119.4 12.7-deg",
        "ap120|http://unitsofmeasure.org|deg; 120 120.5 119.4 2.0944",
        "5.00|http://unitsofmeasure.org|[in_i]; 5-in 12.7-cm 0.127-m",
        "12.7|http://unitsofmeasure.org|cm; 5-in 12.7-cm 0.127-m",
        "12.7; 12.7-cm 12.7-deg",
        "12.7||cm; 12.7-cm",
        "140|http://unitsofmeasure.org|{score}; 140.0-score",
        "140.0,5||[in_i]; 140.0-score 5-in",
        "gt1|http://unitsofmeasure.org|kg;"
      })
  void case40AQuantityIsFoundByItsSize(String value, String expected) {
    quantities();
    Set<String> found =
        ids(search("Observation", "subject", "Patient/amounts", "value-quantity", value)).stream()
            .map(id -> id.replace("amount-", ""))
            .collect(Collectors.toSet());
    assertEquals(expected == null ? Set.of() : Set.of(expected.split(" ")), found);
  }

  @Test
  void case40WhatIsNoQuantityIsRefusedAndItsAbsenceCanBeAskedFor() {
    quantities();
    for (String wrong : List.of("many", "5|cm", "1e99", "xx5")) {
      search("Observation", "value-quantity", wrong)
          .statusCode(400)
          .body("issue[0].details.coding[0].code", equalTo("bad-request"));
    }
    assertEquals(
        Set.of("amount-none"),
        ids(search("Observation", "patient", "amounts", "value-quantity:missing", "true")));
  }
}
