package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.sql.Connection;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import org.flywaydb.core.Flyway;
import org.junit.jupiter.api.Test;
import org.postgresql.ds.PGSimpleDataSource;

/**
 * What PostgreSQL knows of a table that has just been filled. Its own watch is off, which would
 * only come by a minute later.
 */
class TableStatisticsTest {
  private static final int MANY = 20_000;

  /** What reads a record by its id, as the plan says it. */
  private static final String BY_ID =
      "explain (analyze, timing off) select json from resource_current where clinic = 'default'"
          + " and resource_type = 'Observation' and resource_id = 'o77'";

  private static PGSimpleDataSource migrated() throws SQLException {
    PGSimpleDataSource database = new PGSimpleDataSource();
    database.setUrl(PostgresServer.newDatabase());
    database.setUser(PostgresServer.USER);
    Flyway.configure()
        .dataSource(database)
        .locations("classpath:db/migration", "classpath:db/postgresql")
        .load()
        .migrate();
    run(database, "alter table resource_current set (autovacuum_enabled = off)");
    return database;
  }

  private static void run(PGSimpleDataSource database, String... statements) throws SQLException {
    try (Connection connection = database.getConnection();
        Statement sql = connection.createStatement()) {
      sql.execute("set tidemark.clinic = 'default'");
      for (String statement : statements) {
        sql.execute(statement);
      }
    }
  }

  private static String answer(PGSimpleDataSource database, String question) throws SQLException {
    try (Connection connection = database.getConnection();
        Statement sql = connection.createStatement()) {
      sql.execute("set tidemark.clinic = 'default'");
      StringBuilder lines = new StringBuilder();
      try (ResultSet found = sql.executeQuery(question)) {
        while (found.next()) {
          lines.append(found.getString(1)).append('\n');
        }
      }
      return lines.toString().strip();
    }
  }

  private static void fill(PGSimpleDataSource database, int from, int to) throws SQLException {
    run(
        database,
        "insert into resource_current select 'default', 'Observation', 'o' || n, 1, 'Patient/p'"
            + " || n % 100, n, n, repeat('x', 900) from generate_series("
            + from
            + ", "
            + to
            + ") n");
  }

  /** For how many rows it has last looked. */
  private static int known(PGSimpleDataSource database) throws SQLException {
    return Integer.parseInt(
        answer(
            database,
            "select greatest(reltuples, 0)::int from pg_class where relname = 'resource_current'"));
  }

  @Test
  void aTableThatHasDoubledIsLookedAt() throws Exception {
    PGSimpleDataSource database = migrated();
    TableStatistics statistics = new TableStatistics(database, true);
    fill(database, 1, MANY);
    String blind = answer(database, BY_ID);
    assertTrue(!blind.contains("resource_current_pkey"), "nothing to mend: " + blind);
    awaitChanged(database, MANY);
    statistics.refresh();
    assertEquals(MANY, known(database));
    String seen = answer(database, BY_ID);
    assertTrue(seen.contains("resource_current_pkey"), seen);

    fill(database, MANY + 1, MANY + MANY / 2);
    awaitChanged(database, MANY / 2);
    statistics.refresh();
    assertEquals(MANY, known(database), "half as many more are left to the server's own watch");
  }

  /** The server counts what has changed a moment later. */
  private static void awaitChanged(PGSimpleDataSource database, int rows) throws Exception {
    String changed =
        "select n_mod_since_analyze from pg_stat_user_tables where relname = 'resource_current'";
    long end = System.nanoTime() + 20_000_000_000L;
    while (Integer.parseInt(answer(database, changed)) != rows) {
      assertTrue(System.nanoTime() < end, "the server has not counted the changes");
      Thread.sleep(50);
    }
  }
}
