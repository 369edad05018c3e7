package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.nio.file.Files;
import java.nio.file.Path;
import java.sql.Connection;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.Properties;
import org.flywaydb.core.Flyway;
import org.flywaydb.core.api.FlywayException;
import org.flywaydb.core.api.callback.BaseCallback;
import org.flywaydb.core.api.callback.Context;
import org.flywaydb.core.api.callback.Event;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** A migration of the embedded database that ends half-way has not happened at the next start. */
class MigrationCopyTest {
  private static final String OLD = "4";

  @TempDir Path folder;

  /** Ends the migrations after one of them, as a loss of power does. */
  private static final class EndsAfter extends BaseCallback {
    private final String version;

    private EndsAfter(String version) {
      this.version = version;
    }

    @Override
    public boolean supports(Event event, Context context) {
      return event == Event.AFTER_EACH_MIGRATE_STATEMENT;
    }

    @Override
    public void handle(Event event, Context context) {
      if (context.getMigrationInfo().getVersion().getVersion().equals(version)) {
        throw new IllegalStateException("the power is gone");
      }
    }
  }

  @Test
  void whatWasThereBeforeIsThereAndTheMigrationIsMadeAnew() throws Exception {
    flyway("", OLD).migrate();
    try (Connection connection = open("");
        Statement sql = connection.createStatement()) {
      sql.execute("insert into subject_lock values ('default', 'Patient/kept')");
    }
    assertTrue(Files.list(folder).noneMatch(file -> file.toString().endsWith(".zip")));

    Flyway broken = flyway("", "latest", new EndsAfter("5"));
    assertThrows(FlywayException.class, broken::migrate);
    assertTrue(Files.exists(folder.resolve("old.before-migration.zip")));

    // Another address of the same file: to the driver it is opened for the first time.
    String anew = ";QUERY_CACHE_SIZE=16";
    try (Connection connection = open(anew)) {
      assertEquals(
          OLD,
          text(
              connection,
              "select max(cast(\"version\" as int))" + " from \"flyway_schema_history\""));
      assertEquals("Patient/kept", text(connection, "select subject from subject_lock"));
    }
    flyway(anew, "latest").migrate();
    try (Connection connection = open(anew)) {
      assertEquals("Patient/kept", text(connection, "select subject from subject_lock"));
      assertEquals("0", text(connection, "select count(*) from card_feedback"));
    }
    assertTrue(Files.list(folder).noneMatch(file -> file.toString().endsWith(".zip")));
  }

  private Flyway flyway(String more, String target, BaseCallback... others) {
    BaseCallback[] callbacks = new BaseCallback[others.length + 1];
    System.arraycopy(others, 0, callbacks, 1, others.length);
    callbacks[0] = new MigrationCopy();
    return Flyway.configure()
        .dataSource(url(more), null, null)
        .driver(DurableH2Driver.class.getName())
        .locations("classpath:db/migration")
        .target(target)
        .callbacks(callbacks)
        .load();
  }

  private Connection open(String more) throws SQLException {
    return new DurableH2Driver().connect(url(more), new Properties());
  }

  private String url(String more) {
    return "jdbc:h2:%s:%s%s".formatted(DurableH2Driver.SCHEME, folder.resolve("old"), more);
  }

  private static String text(Connection connection, String query) throws SQLException {
    try (Statement sql = connection.createStatement();
        ResultSet row = sql.executeQuery(query)) {
      row.next();
      return row.getString(1);
    }
  }
}
