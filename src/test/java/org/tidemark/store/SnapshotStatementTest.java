package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.sql.Connection;
import java.sql.DriverManager;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.UUID;
import org.flywaydb.core.Flyway;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.EnumSource;

/** How H2 reads a page of an export, by its own account ({@code EXPLAIN ANALYZE}). */
class SnapshotStatementTest {
  private static final int RECORDS = 2_000;
  private static final int PAGE = 50;

  private final String url = "jdbc:h2:mem:" + UUID.randomUUID() + ";DB_CLOSE_DELAY=-1";

  /** A page in the midst of many records reads as many rows as it has and one, and sorts none. */
  @ParameterizedTest
  @EnumSource
  void aPageReadsNoMoreThanItself(ExportStore.Whose whose) throws SQLException {
    Flyway.configure().dataSource(url, "", "").locations("classpath:db/migration").load().migrate();
    try (Connection connection = DriverManager.getConnection(url, "", "");
        Statement sql = connection.createStatement()) {
      sql.execute(
          ("insert into resource_current (clinic, resource_type, resource_id, version, subject,"
                  + " happened_ms, updated_ms, json) select 'c', 'Observation', 'r' || (10000 + x),"
                  + " 1, 'Patient/p', x, x, '{}' from system_range(1, %d)")
              .formatted(RECORDS));
      sql.execute(
          "insert into export_member (clinic, job_id, subject) values ('c', 'j', 'Patient/p')");
      sql.execute("analyze");
      String page =
          new SnapshotStatement(
                  new ExportStore.Snapshot("Observation", whose, "j", Long.MIN_VALUE, RECORDS),
                  "c",
                  false,
                  "r10500",
                  PAGE)
              .text()
              .replace(":clinic", "'c'")
              .replace(":type", "'Observation'")
              .replace(":job", "'j'")
              .replace(":after", "'r10500'")
              .replace(":at", Integer.toString(RECORDS))
              .replace(":since", "-1");
      String plan = one(sql, "explain analyze " + page);
      assertTrue(plan.contains("scanCount: " + (PAGE + 1) + " "), plan);
      assertTrue(plan.contains("index sorted"), plan);
      assertEquals("r10501", one(sql, page));
    }
  }

  private static String one(Statement sql, String query) throws SQLException {
    try (ResultSet row = sql.executeQuery(query)) {
      assertTrue(row.next());
      return row.getString(1);
    }
  }
}
