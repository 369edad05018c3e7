package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.sql.Connection;
import java.sql.DriverManager;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.ArrayList;
import java.util.List;
import java.util.UUID;
import java.util.stream.Stream;
import org.flywaydb.core.Flyway;
import org.flywaydb.core.api.FlywayException;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;

/** A database of an earlier schema keeps its records when it is brought up to date. */
class MigrationTest {

  /** A new, empty database of each kind. */
  static Stream<String> databases() {
    return Stream.of(
        "jdbc:h2:mem:" + UUID.randomUUID() + ";DB_CLOSE_DELAY=-1", PostgresServer.newDatabase());
  }

  @ParameterizedTest
  @MethodSource("databases")
  void theTextsOfSchemaFourStandWhereSchemaFiveHasThem(String url) throws SQLException {
    migrate(url, "4");
    try (Connection connection = connect(url);
        Statement sql = connection.createStatement()) {
      for (int version = 1; version <= 2; version++) {
        sql.execute(
            ("insert into resource_version values ('c', 'Goal', 'a', %d, 'Patient/p', '{\"v\":%d}',"
                    + " timestamp with time zone '2026-05-04 07:30:0%d.123+02:00', false)")
                .formatted(version, version, version));
      }
      sql.execute(
          "insert into resource_version values ('c', 'Goal', 'gone', 2, null, '',"
              + " timestamp with time zone '2026-05-04 05:30:09Z', true)");
      sql.execute(
          "insert into resource_current values ('c', 'Goal', 'a', 2, 'Patient/p', 7,"
              + " 1777872602123)");

      migrate(url, "5");

      assertEquals(
          List.of("a 2 {\"v\":2} 1777872602123"),
          rows(sql, "select resource_id, version, json, updated_ms from resource_current"));
      assertEquals(
          List.of("a 1 {\"v\":1} 1777872601123 false", "gone 2  1777872609000 true"),
          rows(
              sql,
              "select resource_id, version, json, updated_ms, lower(cast(deleted as varchar(5)))"
                  + " from resource_version order by resource_id"));
    }
  }

  /** What each schema can hold, put in when it was the newest, is there under the newest. */
  @ParameterizedTest
  @MethodSource("databases")
  void whatEachSchemaHeldIsThereUnderTheNewest(String url) throws SQLException {
    try (Connection connection = connect(url);
        Statement sql = connection.createStatement()) {
      migrate(url, "1");
      sql.execute(
          "insert into resource_version values ('c', 'Patient', 'p', 1, null, '{\"ä\":1}',"
              + " timestamp with time zone '2026-05-04 05:30:09Z', false)");
      sql.execute("insert into resource_current values ('c', 'Patient', 'p', 1, null, 7, 9)");
      sql.execute("insert into search_token values ('c', 'Patient', 'p', 'identifier', 's', 'v')");
      sql.execute("insert into search_uri values ('c', 'Goal', 'g', 'patient', 'Patient/p')");
      sql.execute("insert into search_date values ('c', 'Patient', 'p', 'birthdate', 1, 2)");
      sql.execute("insert into identifier_key values ('c', 'Patient', 's', 'v', 'p')");
      sql.execute("insert into subject_lock values ('c', 'Patient/p')");
      migrate(url, "2");
      sql.execute(
          "insert into plan values ('c', 'x', 'Patient/p', 'left', 'u|1', 'active', '{}', '[]')");
      sql.execute("insert into plan_fact values ('c', 'x', 'Observation', 'o', 0, 1, 2, 3, '{}')");
      sql.execute("insert into plan_order values ('c', 'r', 'x')");
      migrate(url, "3");
      sql.execute("insert into shipped_definition values ('c', 'PlanDefinition', 'k', 1, 'abc')");
      migrate(url, "6");
      sql.execute(
          "insert into search_quantity values ('c', 'Goal', 'g', 'value', 'm', 0.5, 'cm', 50)");
      migrate(url, "7");
      sql.execute("insert into paper_due values ('c', 'x', 1, 2)");
      migrate(url, "8");
      sql.execute("insert into caseload values ('c', 'x', 'Patient/p', 'Ödön', 1, '', false, 5)");
      sql.execute("insert into plan_matter values ('c', 'x', 'silence', 't', 5, false)");
      migrate(url, "latest");

      for (String table :
          List.of(
              "resource_current",
              "search_token",
              "search_uri",
              "search_date",
              "search_quantity",
              "identifier_key",
              "subject_lock",
              "plan",
              "plan_fact",
              "plan_order",
              "shipped_definition",
              "paper_due",
              "caseload",
              "plan_matter")) {
        assertEquals(List.of("1"), rows(sql, "select count(*) from " + table), table);
      }
      assertEquals(
          List.of("{\"ä\":1} Ödön"),
          rows(sql, "select r.json, c.person from resource_current r, caseload c"));
    }
  }

  @ParameterizedTest
  @MethodSource("databases")
  void aDatabaseOfANewerVersionIsRefused(String url) throws SQLException {
    migrate(url, "latest");
    String newest = flyway(url, "latest").info().current().getVersion().toString();
    migrate(url, newest);
    try (Connection connection = connect(url);
        Statement sql = connection.createStatement()) {
      sql.execute(
          "insert into \"flyway_schema_history\" (\"installed_rank\", \"version\","
              + " \"description\", \"type\", \"script\", \"checksum\", \"installed_by\","
              + " \"execution_time\", \"success\") values (1000, '4711', 'later', 'SQL',"
              + " 'V4711__later.sql', 1, 'somebody', 1, true)");
    }
    FlywayException refusal = assertThrows(FlywayException.class, () -> migrate(url, "latest"));
    assertTrue(refusal.getMessage().contains("schema 4711"), refusal.getMessage());
    assertTrue(refusal.getMessage().contains("knows " + newest), refusal.getMessage());
  }

  /** Pages and prefixes rely on it, whatever language the database was made for. */
  @Test
  void onPostgresqlTextsAreInTheOrderOfTheirCharacters() throws SQLException {
    String url = PostgresServer.newDatabase();
    migrate(url, "latest");
    try (Connection connection = connect(url);
        Statement sql = connection.createStatement()) {
      assertEquals(
          List.of("B", "a"),
          rows(sql, "select x from (values ('a' collate \"C\"), ('B')) v (x) order by x"));
      assertEquals(
          List.of("a", "B"), rows(sql, "select x from (values ('a'), ('B')) v (x) order by x"));
      assertEquals(
          List.of("caseload person"),
          rows(
              sql,
              "select table_name, column_name from information_schema.columns"
                  + " where table_schema = 'public' and data_type in ('text', 'character varying')"
                  + " and collation_name is distinct from 'C'"
                  + " and table_name <> 'flyway_schema_history'"));
    }
  }

  /** For the clinic whose rows the tests write and read. */
  private static Connection connect(String url) throws SQLException {
    String clinic = isPostgresql(url) ? "?options=-c%20tidemark.clinic=c" : "";
    return DriverManager.getConnection(url + clinic, user(url), "");
  }

  private static String user(String url) {
    return isPostgresql(url) ? PostgresServer.USER : "";
  }

  private static boolean isPostgresql(String url) {
    return url.startsWith("jdbc:postgresql:");
  }

  private static void migrate(String url, String to) {
    flyway(url, to).migrate();
  }

  private static Flyway flyway(String url, String to) {
    return Flyway.configure()
        .dataSource(url, user(url), "")
        .locations(
            isPostgresql(url)
                ? new String[] {"classpath:db/migration", "classpath:db/postgresql"}
                : new String[] {"classpath:db/migration"})
        .callbacks(new NewerSchema())
        .target(to)
        .load();
  }

  private static List<String> rows(Statement sql, String query) throws SQLException {
    List<String> rows = new ArrayList<>();
    try (ResultSet found = sql.executeQuery(query)) {
      while (found.next()) {
        List<String> cells = new ArrayList<>();
        for (int column = 1; column <= found.getMetaData().getColumnCount(); column++) {
          cells.add(found.getString(column));
        }
        rows.add(String.join(" ", cells));
      }
    }
    return rows;
  }
}
