package org.tidemark.store;

import io.zonky.test.db.postgres.embedded.EmbeddedPostgres;
import java.io.File;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.sql.Connection;
import java.sql.DriverManager;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.ArrayList;
import java.util.List;
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
  /**
   * The user of the service, who owns its databases and needs no password: a plain one, whom
   * row-level security holds.
   */
  public static final String USER = "tidemark";

  /** The server's superuser, whom it does not hold: for tests that look at the rows of all. */
  public static final String ADMIN = "postgres";

  /** Where it logs, the plans of its statements among it. */
  static final File LOG = new File("target/postgresql.log");

  private static final String DATA = "postgresql";

  private static final AtomicInteger DATABASES = new AtomicInteger();

  private PostgresServer() {}

  /** Begun when it is first asked for; ends with the process. */
  private static final class Running {
    private static final EmbeddedPostgres SERVER = start();

    private static EmbeddedPostgres start() {
      try {
        return withUser(builder().start());
      } catch (IOException e) {
        throw new UncheckedIOException(e);
      }
    }
  }

  private static EmbeddedPostgres.Builder builder() {
    return EmbeddedPostgres.builder()
        .setLocaleConfig("locale", "C.UTF-8")
        .setLocaleConfig("locale-provider", "icu")
        .setLocaleConfig("icu-locale", "en-US")
        .setServerConfig("fsync", "on")
        .setServerConfig("synchronous_commit", "on")
        .setServerConfig("max_connections", "100")
        .setServerConfig("shared_buffers", "64MB")
        .setOutputRedirector(ProcessBuilder.Redirect.appendTo(LOG))
        .setErrorRedirector(ProcessBuilder.Redirect.appendTo(LOG));
  }

  /** Another server, on a folder with or without data of before. */
  public static EmbeddedPostgres start(Path folder, int port) throws IOException {
    return withUser(
        builder()
            .setDataDirectory(folder.resolve(DATA))
            .setCleanDataDirectory(false)
            .setPort(port)
            .start());
  }

  /** Makes the user, and a database of that name, where they are not there. */
  private static EmbeddedPostgres withUser(EmbeddedPostgres server) {
    try (Connection connection = server.getPostgresDatabase().getConnection();
        Statement sql = connection.createStatement();
        ResultSet found =
            sql.executeQuery("select 1 from pg_roles where rolname = '" + USER + "'")) {
      if (!found.next()) {
        sql.execute("create role " + USER + " login");
        sql.execute("create database " + USER + " owner " + USER);
      }
      return server;
    } catch (SQLException e) {
      throw new IllegalStateException(e);
    }
  }

  /** Kills the server of a folder (SIGKILL), all of its processes. */
  public static void kill(Path folder) throws IOException {
    String pid = Files.readAllLines(folder.resolve(DATA).resolve("postmaster.pid")).get(0);
    ProcessHandle server = ProcessHandle.of(Long.parseLong(pid.strip())).orElseThrow();
    List<ProcessHandle> all = new ArrayList<>(server.descendants().toList());
    all.add(0, server);
    all.forEach(ProcessHandle::destroyForcibly);
    all.forEach(process -> process.onExit().join());
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
            DriverManager.getConnection(server.getJdbcUrl(ADMIN, "postgres"), ADMIN, "");
        Statement sql = connection.createStatement()) {
      sql.execute("create database " + name + " owner " + USER);
      for (String setting : settings) {
        sql.execute("alter database " + name + " set " + setting);
      }
    } catch (SQLException e) {
      throw new IllegalStateException(e);
    }
    return "jdbc:postgresql://localhost:" + server.getPort() + "/" + name;
  }
}
