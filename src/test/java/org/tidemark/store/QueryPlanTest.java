package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.agroal.api.AgroalDataSource;
import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.io.IOException;
import java.io.RandomAccessFile;
import java.nio.charset.StandardCharsets;
import java.sql.Connection;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalInt;
import java.util.Set;
import java.util.function.Supplier;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.tidemark.clinic.ActsForHome;

/**
 * How PostgreSQL answers what is asked most, by the plans that it says it used: never by reading a
 * whole table, and never by passing over more than a person's records. 1,000 people with 60
 * Observations each, and 10,000 plans.
 */
@ExtendWith(ActsForHome.class)
@QuarkusTest
@TestProfile(QueryPlanTest.Explained.class)
class QueryPlanTest {
  private static final int PEOPLE = 1_000;
  private static final int OF_EACH = 60;
  private static final int PLANS = 10_000;

  /** After five times the server may keep a plan for all values; both kinds must do. */
  private static final int TIMES = 12;

  private static final Pattern PASSED_OVER = Pattern.compile("Rows Removed by \\w[\\w ]*: (\\d+)");
  private static final Pattern PRODUCED = Pattern.compile("actual rows=(\\d+)");

  private static boolean filled;

  /** A database that writes down the plan of each statement. */
  public static final class Explained implements QuarkusTestProfile {
    /** What the clock asks for is off: its queries would stand among those that are looked at. */
    @Override
    public Map<String, String> getConfigOverrides() {
      return Map.of(
          "tidemark.database.url",
          PostgresServer.newDatabase(
              "session_preload_libraries = 'auto_explain'",
              "auto_explain.log_min_duration = 0",
              "auto_explain.log_analyze = on",
              "auto_explain.log_timing = off"),
          "tidemark.database.user",
          PostgresServer.USER,
          "tidemark.export.every",
          "off",
          "tidemark.audit",
          "off");
    }
  }

  @Inject ResourceStore records;
  @Inject PlanStore plans;
  @Inject CaseloadStore caseload;
  @Inject AgroalDataSource database;

  @BeforeEach
  void fill() throws SQLException {
    if (filled) {
      return;
    }
    String each =
        " from generate_series(1, %d) p, generate_series(1, %d) n".formatted(PEOPLE, OF_EACH);
    String key = "'default', 'Observation', 'o' || p || '-' || n";
    String time = "1700000000000 + n * 86400000::bigint + p";
    String person = "'Patient/p' || p";
    try (Connection connection = database.getConnection();
        Statement sql = connection.createStatement()) {
      sql.execute("set tidemark.clinic = 'default'");
      for (String rows :
          List.of(
              "resource_current select %s, 1, %s, %s, %s, repeat('x', 900)"
                  .formatted(key, person, time, time),
              "search_token select %s, 'code', 'http://loinc.org', 'c' || (n %% 20)".formatted(key),
              "search_token select %s, 'status', '', 'final'".formatted(key),
              "search_uri select %s, 'subject', %s".formatted(key, person),
              "search_uri select %s, 'based-on', 'ServiceRequest/s' || p || '-' || n / 5"
                  .formatted(key),
              "search_date select %s, 'date', %s, %s + 1".formatted(key, time, time),
              "search_quantity select %s, 'value-quantity', 'deg', n, 'deg', n".formatted(key),
              "plan_fact select 'default', 'plan' || p, 'Observation', 'o' || n, 0, 1, n, n, '{}'")) {
        sql.execute("insert into " + rows + each);
      }
      sql.execute(
          "insert into resource_version select 'default', 'Observation', 'o' || p || '-' || n, v,"
              + " 'Patient/p' || p, repeat('x', 900), false, "
              + time
              + each
              + ", generate_series(1, 3) v where n < 5");
      String one = " from generate_series(1, %d) p".formatted(PLANS);
      sql.execute(
          "insert into plan select 'default', 'plan' || p, 'Patient/p' || p, 'left', 'u|1',"
              + " 'active', repeat('s', 2000), '{}'"
              + one);
      sql.execute(
          "insert into caseload select 'default', 'plan' || p, 'Patient/p' || p, 'Person ' || p,"
              + " p % 5, '', false, p"
              + one);
      sql.execute("insert into subject_lock select 'default', 'Patient/p' || p" + one);
      sql.execute("analyze");
    }
    filled = true;
  }

  @Test
  void aRecordByItsId() throws IOException {
    assertEquals(1, usesIndexes(() -> records.find("Observation", "o7-3").stream().toList()));
  }

  @Test
  void theNumberOfItsVersion() throws IOException {
    assertEquals(1, usesIndexes(() -> List.of(records.currentVersion("Observation", "o7-3"))));
  }

  @Test
  void theNewestOfAPerson() throws IOException {
    assertEquals(20, usesIndexes(() -> records.search(newest())));
  }

  @Test
  void theSecondPageOfAPerson() throws IOException {
    Query.Cursor place =
        QuarkusTransaction.requiringNew().call(() -> records.search(newest()).get(19).place());
    assertEquals(20, usesIndexes(() -> records.search(newest().from(place))));
  }

  @Test
  void aCodeOfAPerson() throws IOException {
    assertEquals(3, usesIndexes(() -> records.search(newest(code("c4")))));
  }

  @Test
  void aReferenceOfAPerson() throws IOException {
    assertEquals(
        5,
        usesIndexes(
            () ->
                records.search(newest(new Query.Uris("based-on", Set.of("ServiceRequest/s7-4"))))));
  }

  @Test
  void whoeverRefersToARecord() throws IOException {
    Query query =
        new Query(
            "Observation",
            Set.of(),
            List.of(new Query.Uris("based-on", Set.of("ServiceRequest/s7-4"))),
            Query.NEWEST_FIRST,
            Optional.empty(),
            20);
    assertEquals(5, usesIndexes(() -> records.search(query)));
    assertEquals(5, usesIndexes(() -> records.referrers("ServiceRequest/s7-4", 10)));
  }

  @Test
  void aTimeOfAPerson() throws IOException {
    long from = 1_700_000_000_000L + 10 * 86_400_000L;
    Query.Dates dates =
        new Query.Dates(
            "date",
            List.of(new Query.DateTest(Query.Comparison.WITHIN, from, from + 5 * 86_400_000L)));
    assertEquals(5, usesIndexes(() -> records.search(newest(dates))));
  }

  @Test
  void aQuantityOfAPerson() throws IOException {
    Query.Measures above =
        new Query.Measures(
            "value-quantity",
            List.of(
                new Query.MeasureTest(
                    Query.Measured.COMPARED, Optional.of("deg"), 55, 1e9, false, true, true)));
    assertEquals(5, usesIndexes(() -> records.search(newest(above))));
  }

  @Test
  void theHistoryOfARecord() throws IOException {
    HistoryQuery query =
        new HistoryQuery(
            Optional.of("Observation"),
            Optional.of("o7-3"),
            Optional.empty(),
            Optional.empty(),
            List.of(),
            Optional.empty(),
            10);
    assertEquals(4, usesIndexes(() -> records.history(query)));
  }

  @Test
  void aPlanAndItsFacts() throws IOException {
    assertEquals(OF_EACH, usesIndexes(() -> plans.facts("plan7")));
    assertEquals(2, usesIndexes(() -> plans.factsFrom("plan7", "Observation", Set.of("o3", "o4"))));
    assertEquals(1, usesIndexes(() -> plans.find("plan7").stream().toList()));
    assertEquals(1, usesIndexes(() -> plans.ofSubject("Patient/p7")));
  }

  @Test
  void aPageOfTheCaseload() throws IOException {
    CaseloadStore.Wanted everyone = new CaseloadStore.Wanted(OptionalInt.empty(), "");
    assertEquals(50, usesIndexes(() -> caseload.lines(everyone, 0, 50)));
    CaseloadStore.Wanted oneNeed = new CaseloadStore.Wanted(OptionalInt.of(3), "");
    assertEquals(50, usesIndexes(() -> caseload.lines(oneNeed, 50, 50)));
  }

  private static Query newest(Query.Criterion... criteria) {
    return new Query(
        "Observation",
        Set.of("Patient/p7"),
        List.of(criteria),
        Query.NEWEST_FIRST,
        Optional.empty(),
        20);
  }

  private static Query.Tokens code(String code) {
    return new Query.Tokens(
        "code", List.of(new Query.TokenTest(Optional.of("http://loinc.org"), Optional.of(code))));
  }

  /** How much was found, when none of the plans reads a table or passes over many rows. */
  private int usesIndexes(Supplier<List<?>> question) throws IOException {
    int found = 0;
    for (int time = 0; time < TIMES; time++) {
      long before = PostgresServer.LOG.length();
      found = QuarkusTransaction.requiringNew().call(question::get).size();
      String plan = logged(before);
      assertTrue(plan.contains("Index"), plan);
      assertFalse(plan.contains("Seq Scan"), plan);
      for (Pattern rows : List.of(PASSED_OVER, PRODUCED)) {
        Matcher number = rows.matcher(plan);
        while (number.find()) {
          assertTrue(Integer.parseInt(number.group(1)) <= 2 * OF_EACH, plan);
        }
      }
    }
    return found;
  }

  private static String logged(long from) throws IOException {
    try (RandomAccessFile log = new RandomAccessFile(PostgresServer.LOG, "r")) {
      byte[] text = new byte[(int) (log.length() - from)];
      log.seek(from);
      log.readFully(text);
      return new String(text, StandardCharsets.UTF_8);
    }
  }
}
