package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.sql.Connection;
import java.sql.DriverManager;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.ArrayList;
import java.util.List;
import org.flywaydb.core.Flyway;
import org.junit.jupiter.api.Test;

/** A database of an earlier schema keeps its records when it is brought up to date. */
class MigrationTest {
  private static final String URL = "jdbc:h2:mem:migration;DB_CLOSE_DELAY=-1";

  @Test
  void theTextsOfSchemaFourStandWhereSchemaFiveHasThem() throws SQLException {
    migrate("4");
    try (Connection connection = DriverManager.getConnection(URL);
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

      migrate("5");

      assertEquals(
          List.of("a 2 {\"v\":2} 1777872602123"),
          rows(sql, "select resource_id, version, json, updated_ms from resource_current"));
      assertEquals(
          List.of("a 1 {\"v\":1} 1777872601123 FALSE", "gone 2  1777872609000 TRUE"),
          rows(
              sql,
              "select resource_id, version, json, updated_ms, deleted from resource_version"
                  + " order by resource_id"));
    }
  }

  private static void migrate(String to) {
    Flyway.configure()
        .dataSource(URL, null, null)
        .locations("classpath:db/migration")
        .target(to)
        .load()
        .migrate();
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
