package org.tidemark.http;

import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import io.quarkus.test.junit.QuarkusTest;
import io.restassured.RestAssured;
import io.restassured.response.Response;
import java.math.BigDecimal;
import java.math.RoundingMode;
import java.nio.file.Files;
import java.nio.file.Path;
import java.sql.Connection;
import java.sql.DriverManager;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.time.LocalDate;
import java.util.ArrayList;
import java.util.List;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.MeasureReport;
import org.hl7.fhir.r4.model.MeasureReport.MeasureReportGroupComponent;
import org.hl7.fhir.r4.model.Observation;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.junit.jupiter.api.io.TempDir;
import org.tidemark.clinic.ActsForHome;

/**
 * The outcomes of the clinic against those that an analytics engine of its own (DuckDB) computes
 * from an export by {@code deploy/outcomes.sql}, and against a course that is counted by hand.
 */
@ExtendWith(ActsForHome.class)
@QuarkusTest
class OutcomesTest {
  private static final ObjectMapper JSON = new ObjectMapper();
  private static final int TRIES = 300;

  @TempDir Path folder;

  /** A figure as both sides tell it. */
  private record Told(String figure, String goal, int denominator, int numerator, String score) {}

  private static MeasureReport report(String query) {
    Response answer = RestAssured.get("/fhir/$outcomes" + query);
    assertEquals(200, answer.statusCode(), answer.asString());
    return PlanPerson.CONTEXT.newJsonParser().parseResource(MeasureReport.class, answer.asString());
  }

  private static List<Told> told(MeasureReport report) {
    return report.getGroup().stream()
        .map(
            group ->
                new Told(
                    group.getCode().getText(),
                    String.valueOf(group.getExtensionString(PlanPerson.OURS + "goal-code")),
                    count(group, "denominator"),
                    count(group, "numerator"),
                    score(group.getMeasureScore().getValue())))
        .toList();
  }

  private static String score(BigDecimal score) {
    return score == null ? "none" : score.setScale(4, RoundingMode.HALF_EVEN).toPlainString();
  }

  private static int count(MeasureReportGroupComponent group, String code) {
    return group.getPopulation().stream()
        .filter(p -> p.getCode().getCodingFirstRep().getCode().equals(code))
        .findFirst()
        .orElseThrow()
        .getCount();
  }

  /** What the engine makes of an export, in the order of the report. */
  private List<Told> computed(MeasureReport report) throws Exception {
    export();
    List<Told> told = new ArrayList<>();
    String start =
        report.getPeriod().hasStart()
            ? "date '%s'".formatted(report.getPeriod().getStartElement().asStringValue())
            : "null::date";
    try (Connection engine = DriverManager.getConnection("jdbc:duckdb:");
        Statement statement = engine.createStatement()) {
      statement.execute("set variable folder = '" + folder + "'");
      statement.execute("set variable period_start = " + start);
      statement.execute(
          "set variable period_end = date '%s'"
              .formatted(report.getPeriod().getEndElement().asStringValue()));
      statement.execute(Files.readString(Path.of("deploy/outcomes.sql")));
      ResultSet rows = statement.getResultSet();
      while (rows.next()) {
        told.add(told(rows));
      }
    }
    return told;
  }

  private static Told told(ResultSet row) throws SQLException {
    return new Told(
        row.getString("figure"),
        String.valueOf(row.getString("goal")),
        row.getInt("denominator"),
        row.getInt("numerator"),
        score(row.getBigDecimal("score")));
  }

  private void export() throws Exception {
    try (Stream<Path> before = Files.list(folder)) {
      before.forEach(file -> file.toFile().delete());
    }
    Response begun =
        RestAssured.given()
            .header("Prefer", "respond-async")
            .get("/fhir/$export?_type=CarePlan,Goal,GuidanceResponse");
    assertEquals(202, begun.statusCode(), begun.asString());
    Response standing = RestAssured.get(begun.header("Content-Location"));
    for (int i = 0; standing.statusCode() == 202 && i < TRIES; i++) {
      Thread.sleep(100);
      standing = RestAssured.get(begun.header("Content-Location"));
    }
    assertEquals(200, standing.statusCode(), standing.asString());
    int number = 0;
    for (JsonNode file : JSON.readTree(standing.asString()).get("output")) {
      Files.writeString(
          folder.resolve(number++ + ".ndjson"),
          RestAssured.get(file.get("url").asText()).asString());
    }
    assertTrue(number > 0);
  }

  /** What one course adds to the figures of those before it. */
  private static Told added(MeasureReport before, MeasureReport after, String figure) {
    Told former = of(before, figure);
    Told now = of(after, figure);
    return new Told(
        figure,
        "null",
        now.denominator() - former.denominator(),
        now.numerator() - former.numerator(),
        "");
  }

  private static Told of(MeasureReport report, String figure) {
    return told(report).stream()
        .filter(one -> one.figure().equals(figure))
        .findFirst()
        .orElseThrow();
  }

  @Test
  void aCourseIsCountedAsByHand() throws Exception {
    // Days that no other course of the tests has: the plan's days are from 13 April 2026 on.
    MeasureReport before = report("?periodStart=2026-04-01&periodEnd=2026-06-30");
    PlanPerson person = PlanPerson.enrolled();
    person.settled(1, 6);
    // Flares by its morning.
    person.send(person.session(7));
    person.send(person.morning(7, 5));
    // Waits for its morning, and is no session after all.
    Observation last = person.send(person.session(9));
    MeasureReport after = report("?periodStart=2026-04-01&periodEnd=2026-06-30");
    assertEquals(new Told("flare-rate", "null", 7, 1, ""), added(before, after, "flare-rate"));
    assertEquals(8, added(before, after, "adherence").numerator());
    assertEquals(told(after), computed(after));
    last.setStatus(Observation.ObservationStatus.ENTEREDINERROR);
    person.amend(last);
    MeasureReport withdrawn = report("?periodStart=2026-04-01&periodEnd=2026-06-30");
    assertEquals(7, added(before, withdrawn, "adherence").numerator());
    assertEquals(told(withdrawn), computed(withdrawn));
    CarePlan plan = person.plan();
    plan.setStatus(CarePlan.CarePlanStatus.ENTEREDINERROR);
    person.amend(plan);
    MeasureReport none = report("?periodStart=2026-04-01&periodEnd=2026-06-30");
    assertEquals(told(before), told(none));
    assertEquals(told(none), computed(none));
  }

  @Test
  void anEngineComputesTheSameFromAnExport() throws Exception {
    for (long seed = 1; seed <= 6; seed++) {
      new RandomCourse(PlanPerson.enrolled(), seed).happens(25);
    }
    for (String query :
        List.of(
            "",
            "?periodStart=2026-04-20&periodEnd=2026-05-31",
            "?periodEnd=2026-04-30",
            "?periodStart=2026-06-15")) {
      MeasureReport report = report(query);
      assertEquals(told(report), computed(report), query);
    }
    MeasureReport whole = report("");
    assertTrue(of(whole, "flare-rate").numerator() > 0, "somebody has flared");
    assertTrue(of(whole, "adherence").denominator() > 0, "something was asked");
    assertTrue(told(whole).stream().anyMatch(one -> one.figure().equals("time-to-goal")));
  }

  @Test
  void thePeriodEndsTodayAtTheLatest() {
    MeasureReport report = report("?periodEnd=" + LocalDate.now().plusYears(1));
    assertTrue(
        !LocalDate.parse(report.getPeriod().getEndElement().asStringValue())
            .isAfter(LocalDate.now().plusDays(1)));
  }

  @Test
  void aPeriodIsOfDaysInTheirOrder() {
    RestAssured.get("/fhir/$outcomes?periodStart=2026-05-01&periodEnd=2026-04-01")
        .then()
        .statusCode(400)
        .body("issue[0].diagnostics", equalTo("The period ends before it begins."))
        .body("issue[0].expression[0]", containsString("periodStart"));
    for (String noDay : List.of("2026-05", "hello", "2026-02-30", "2026-05-01T10:00:00Z")) {
      RestAssured.get("/fhir/$outcomes?periodStart=" + noDay)
          .then()
          .statusCode(400)
          .body("issue[0].diagnostics", containsString("a day"))
          .body("issue[0].expression[0]", containsString("periodStart"));
    }
    RestAssured.get("/fhir/$outcomes?period=2026").then().statusCode(400);
    RestAssured.given()
        .contentType("application/fhir+json")
        .body(
            "{\"resourceType\":\"Parameters\",\"parameter\":[{\"name\":\"periodEnd\","
                + "\"valueDate\":\"2026-04-30\"}]}")
        .post("/fhir/$outcomes")
        .then()
        .statusCode(200)
        .body("period.end", equalTo("2026-04-30"));
  }
}
