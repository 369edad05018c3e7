package org.tidemark.store;

import io.zonky.test.db.postgres.embedded.EmbeddedPostgres;
import java.io.File;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.sql.Connection;
import java.sql.DriverManager;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.concurrent.atomic.AtomicInteger;

/**
 * A real PostgreSQL for the tests of this process, on a free port, with what it writes forced to
 * the disk as in use. PostgreSQL refuses to run as root, so that for root it is started in a user
 * namespace of its own ({@code unshare -U}).
 *
 * <p>Its databases sort as English does, not by the numbers of characters: what relies on an order
 * must ask for it.
 */
public final class PostgresServer {
  /** The server's user, who needs no password. */
  public static final String USER = "postgres";

  /** Where it logs, the plans of its statements among it. */
  static final File LOG = new File("target/postgresql.log");

  private static final AtomicInteger DATABASES = new AtomicInteger();

  private PostgresServer() {}

  /** Begun when it is first asked for; ends with the process. */
  private static final class Running {
    private static final EmbeddedPostgres SERVER = start();

    private static EmbeddedPostgres start() {
      try {
        return EmbeddedPostgres.builder()
            .setLocaleConfig("locale", "C.UTF-8")
            .setLocaleConfig("locale-provider", "icu")
            .setLocaleConfig("icu-locale", "en-US")
            .setServerConfig("fsync", "on")
            .setServerConfig("synchronous_commit", "on")
            .setServerConfig("max_connections", "100")
            .setServerConfig("shared_buffers", "64MB")
            .setOutputRedirector(ProcessBuilder.Redirect.appendTo(LOG))
            .setErrorRedirector(ProcessBuilder.Redirect.appendTo(LOG))
            .start();
      } catch (IOException e) {
        throw new UncheckedIOException(e);
      }
    }
  }

  /**
   * The address of a new, empty database.
   *
   * @param settings settings of the server that hold in it, such as {@code lock_timeout = 500}
   */
  public static String newDatabase(String... settings) {
    EmbeddedPostgres server = Running.SERVER;
    String name = "tidemark" + DATABASES.incrementAndGet();
    try (Connection connection =
            DriverManager.getConnection(server.getJdbcUrl(USER, "postgres"), USER, "");
        Statement sql = connection.createStatement()) {
      sql.execute("create database " + name);
      for (String setting : settings) {
        sql.execute("alter database " + name + " set " + setting);
      }
    } catch (SQLException e) {
      throw new IllegalStateException(e);
    }
    return "jdbc:postgresql://localhost:" + server.getPort() + "/" + name;
  }
}
