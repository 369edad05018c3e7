package org.tidemark.store;

import io.agroal.api.AgroalDataSource;
import io.quarkus.scheduler.Scheduled;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.inject.Inject;
import java.sql.Connection;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import javax.sql.DataSource;
import org.eclipse.microprofile.config.inject.ConfigProperty;

/**
 * Has PostgreSQL look at tables that have doubled since it last did. Of a table that it has not
 * looked at it believes that a clinic has one record of each type, whichever index it takes, and
 * then reads all of them for each that is asked for. Its own watch passes by once a minute, in
 * which a new database can be given tens of thousands of records.
 */
@ApplicationScoped
class TableStatistics {
  /** Fewer changes than these are read through quickly in any way. */
  private static final int FEW = 500;

  private static final String DOUBLED =
      "select c.oid::regclass::text from pg_class c join pg_stat_user_tables s on s.relid = c.oid"
          + " where c.relnamespace = current_schema()::regnamespace"
          + " and pg_has_role(c.relowner, 'usage') and s.n_mod_since_analyze > greatest("
          + FEW
          + ", c.reltuples)";

  private final DataSource database;
  private final boolean server;

  @Inject
  TableStatistics(
      AgroalDataSource database, @ConfigProperty(name = ChosenDatabase.URL) Optional<String> url) {
    this(database, url.filter(address -> !address.isBlank()).isPresent());
  }

  TableStatistics(DataSource database, boolean server) {
    this.database = database;
    this.server = server;
  }

  /** Looks at what has doubled. Instances do not wait for each other. */
  @Scheduled(
      every = "{tidemark.statistics-every}",
      concurrentExecution = Scheduled.ConcurrentExecution.SKIP)
  void refresh() throws SQLException {
    if (!server) {
      return;
    }
    try (Connection connection = database.getConnection();
        Statement sql = connection.createStatement()) {
      for (String table : doubled(sql)) {
        sql.execute("analyze (skip_locked) " + table);
      }
    }
  }

  private static List<String> doubled(Statement sql) throws SQLException {
    List<String> tables = new ArrayList<>();
    try (ResultSet found = sql.executeQuery(DOUBLED)) {
      while (found.next()) {
        tables.add(found.getString(1));
      }
    }
    return tables;
  }
}
