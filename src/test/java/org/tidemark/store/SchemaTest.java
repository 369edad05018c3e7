package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.sql.Connection;
import java.sql.DatabaseMetaData;
import java.sql.DriverManager;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.ArrayList;
import java.util.Collections;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Set;
import java.util.TreeMap;
import java.util.TreeSet;
import java.util.UUID;
import java.util.concurrent.Callable;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import java.util.stream.Stream;
import org.flywaydb.core.Flyway;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;

/**
 * Every table has the clinic, its key and each of its indexes begin with it, and none refers to
 * another by a foreign key: so that nothing is found across clinics, and a database that is
 * distributed can lay each clinic's rows together. There are no exceptions.
 */
class SchemaTest {
  static Stream<String> databases() {
    return Stream.of(
        "jdbc:h2:mem:" + UUID.randomUUID() + ";DB_CLOSE_DELAY=-1", PostgresServer.newDatabase());
  }

  private static boolean isPostgresql(String url) {
    return url.startsWith("jdbc:postgresql:");
  }

  private static Connection migrated(String url) throws SQLException {
    String user = isPostgresql(url) ? PostgresServer.USER : "";
    Flyway.configure()
        .dataSource(url, user, "")
        .locations(
            isPostgresql(url)
                ? new String[] {"classpath:db/migration", "classpath:db/postgresql"}
                : new String[] {"classpath:db/migration"})
        .load()
        .migrate();
    return DriverManager.getConnection(url, user, "");
  }

  private static List<String> tables(Connection connection) throws SQLException {
    List<String> tables = new ArrayList<>();
    String schema = connection.getSchema();
    try (ResultSet found =
        connection
            .getMetaData()
            .getTables(null, schema, "%", new String[] {"TABLE", "BASE TABLE"})) {
      while (found.next()) {
        String name = found.getString("TABLE_NAME");
        if (!name.equals("flyway_schema_history")) {
          tables.add(name);
        }
      }
    }
    return tables;
  }

  /** Instances of the service that are started together each migrate. */
  @Test
  void severalMigrateAtOnce() throws Exception {
    ExecutorService threads = Executors.newFixedThreadPool(4);
    try {
      for (int round = 0; round < 3; round++) {
        String url = PostgresServer.newDatabase();
        Callable<Integer> instance =
            () -> {
              try (Connection connection = migrated(url)) {
                return tables(connection).size();
              }
            };
        for (Future<Integer> ready : threads.invokeAll(Collections.nCopies(4, instance))) {
          assertEquals(ClinicTies.TABLES.size(), ready.get());
        }
      }
    } finally {
      threads.shutdownNow();
    }
  }

  /**
   * PostgreSQL applies the policy of a partitioned table to what is asked of the table, and not to
   * what is asked of its partitions themselves; each needs its own.
   */
  @Test
  void partitionsOfATableHaveTheWallToo() throws SQLException {
    String url = PostgresServer.newDatabase();
    try (Connection connection = migrated(url);
        Statement sql = connection.createStatement()) {
      sql.execute(
          "create table part (clinic varchar(64) collate \"C\" not null, id varchar(64) collate"
              + " \"C\" not null, primary key (clinic, id)) partition by hash (clinic, id)");
      sql.execute("create table part_0 partition of part for values with (modulus 1, remainder 0)");
      sql.execute("insert into part values ('north', 'a'), ('south', 'a'), ('south', 'b')");
      migrated(url).close();
      sql.execute("set tidemark.clinic = 'south'");
      for (String table : List.of("part", "part_0")) {
        try (ResultSet seen = sql.executeQuery("select count(*) from " + table)) {
          assertTrue(seen.next());
          assertEquals(2, seen.getInt(1), table);
        }
      }
    }
  }

  @ParameterizedTest
  @MethodSource("databases")
  void everyTableAndIndexBeginsWithTheClinic(String url) throws SQLException {
    try (Connection connection = migrated(url)) {
      DatabaseMetaData schema = connection.getMetaData();
      List<String> tables = tables(connection);
      Set<String> names = new TreeSet<>();
      tables.forEach(table -> names.add(table.toLowerCase(Locale.ROOT)));
      assertEquals(ClinicTies.TABLES, names, "the tables that statements are held to");
      for (String table : tables) {
        assertEquals("clinic", keyBegins(schema, connection.getSchema(), table), table);
        try (ResultSet column =
            schema.getColumns(
                null, connection.getSchema(), table, isPostgresql(url) ? "clinic" : "CLINIC")) {
          assertTrue(column.next(), table);
          assertEquals("NO", column.getString("IS_NULLABLE"), table);
          assertEquals(64, column.getInt("COLUMN_SIZE"), table);
        }
        indexes(schema, connection.getSchema(), table)
            .forEach((index, first) -> assertEquals("clinic", first, index));
        try (ResultSet foreign = schema.getImportedKeys(null, connection.getSchema(), table)) {
          assertTrue(!foreign.next(), table + " refers to another table");
        }
      }
    }
  }

  private static String keyBegins(DatabaseMetaData schema, String in, String table)
      throws SQLException {
    try (ResultSet key = schema.getPrimaryKeys(null, in, table)) {
      while (key.next()) {
        if (key.getInt("KEY_SEQ") == 1) {
          return key.getString("COLUMN_NAME").toLowerCase(Locale.ROOT);
        }
      }
    }
    return "no key";
  }

  private static Map<String, String> indexes(DatabaseMetaData schema, String in, String table)
      throws SQLException {
    Map<String, String> first = new TreeMap<>();
    try (ResultSet index = schema.getIndexInfo(null, in, table, false, true)) {
      while (index.next()) {
        if (index.getInt("ORDINAL_POSITION") == 1) {
          first.put(
              index.getString("INDEX_NAME"),
              index.getString("COLUMN_NAME").toLowerCase(Locale.ROOT));
        }
      }
    }
    assertTrue(!first.isEmpty(), table);
    return first;
  }

  /** Also a table that a later migration adds, and after one that has changed rows. */
  @Test
  void onPostgresqlEveryTableIsSecuredRowByRow() throws SQLException {
    String url = PostgresServer.newDatabase();
    try (Connection connection = migrated(url);
        Statement sql = connection.createStatement()) {
      assertEquals(ClinicTies.TABLES, secured(sql));
      sql.execute("create table later (clinic varchar(64) primary key)");
      migrated(url).close();
      Set<String> more = new TreeSet<>(ClinicTies.TABLES);
      more.add("later");
      assertEquals(more, secured(sql));
    }
  }

  /** Such as the view of an extension, and its table. */
  @Test
  void onPostgresqlWhatOthersHaveInTheSchemaIsLeftAlone() throws SQLException {
    String url = PostgresServer.newDatabase();
    migrated(url).close();
    try (Connection admin = DriverManager.getConnection(url, PostgresServer.ADMIN, "");
        Statement sql = admin.createStatement()) {
      sql.execute("create table theirs (clinic varchar(64) primary key, note text)");
      sql.execute("create view their_view as select * from theirs");
      migrated(url).close();
      assertEquals(ClinicTies.TABLES, secured(sql));
    }
  }

  private static Set<String> secured(Statement sql) throws SQLException {
    Set<String> secured = new TreeSet<>();
    try (ResultSet found =
        sql.executeQuery(
            "select c.relname, pg_get_expr(p.polqual, p.polrelid), p.polcmd, p.polpermissive"
                + " from pg_class c join pg_policy p on p.polrelid = c.oid"
                + " where c.relrowsecurity and c.relforcerowsecurity and p.polwithcheck is null")) {
      while (found.next()) {
        assertEquals(
            "((clinic)::text = current_setting('tidemark.clinic'::text, true))",
            found.getString(2));
        assertEquals("*", found.getString(3), "reads and writes alike");
        assertTrue(secured.add(found.getString(1)), "one policy, which no other widens");
      }
    }
    return secured;
  }

  /** A migration changes the rows of all clinics, and leaves them secured. */
  @Test
  void onPostgresqlAMigrationReachesTheRowsOfAll() throws SQLException {
    String url = PostgresServer.newDatabase();
    try (Connection connection = migrated(url);
        Statement sql = connection.createStatement()) {
      for (String clinic : List.of("one", "two")) {
        sql.execute("set tidemark.clinic = '" + clinic + "'");
        sql.execute("insert into sweep_day values ('" + clinic + "', 'then')");
      }
      Flyway.configure()
          .dataSource(url, PostgresServer.USER, "")
          .locations("classpath:db/migration", "classpath:db/postgresql", "classpath:db/later")
          .load()
          .migrate();
      for (String clinic : List.of("one", "two")) {
        sql.execute("set tidemark.clinic = '" + clinic + "'");
        try (ResultSet day = sql.executeQuery("select sweep_day from sweep_day")) {
          assertTrue(day.next());
          assertEquals("changed", day.getString(1));
          assertTrue(!day.next(), "the other clinic's");
        }
      }
    }
  }
}
