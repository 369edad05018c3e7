package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.nio.file.Path;
import java.sql.Connection;
import java.sql.PreparedStatement;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.ArrayList;
import java.util.List;
import java.util.Properties;
import java.util.Random;
import org.h2.engine.SessionLocal;
import org.h2.jdbc.JdbcConnection;
import org.h2.mvstore.MVStore;
import org.h2.mvstore.MVStoreException;
import org.h2.store.fs.FilePath;
import org.junit.jupiter.api.io.TempDir;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/**
 * A disk that fills up in the middle of a write loses nothing that was acknowledged, however often
 * it does. The tables are many, as the list of their places must survive as well.
 */
class FullDiskTest {
  private static final int ROUNDS = Integer.getInteger("kill.rounds", 3);
  private static final int WRITERS = 4;
  private static final int TABLES = 60;
  private static final String TEXT = "settled ".repeat(30);

  @TempDir Path folder;

  /**
   * Everything fails from then on, or one write alone. In both cases another thread may be about to
   * write at that moment; on a file that lacks the failed part it would overwrite what the last
   * good state needs.
   */
  @ParameterizedTest
  @ValueSource(booleans = {true, false})
  void nothingThatWasAcknowledgedIsLost(boolean stays) throws Exception {
    FilePath.register(new FullDisk.Disk());
    Random random = new Random(7);
    try (Connection connection = open();
        Statement make = connection.createStatement()) {
      for (int table = 0; table < TABLES; table++) {
        make.execute(
            "create table t%d (writer int, number bigint, text varchar, primary key (writer, number))"
                .formatted(table));
        make.execute("create index i%1$d on t%1$d (text)".formatted(table));
      }
    }
    long[] acknowledged = new long[WRITERS];
    for (int round = 0; round < ROUNDS; round++) {
      List<Thread> writers = new ArrayList<>();
      for (int writer = 0; writer < WRITERS; writer++) {
        int which = writer;
        Thread thread = new Thread(() -> write(which, acknowledged));
        thread.start();
        writers.add(thread);
      }
      Thread other = new Thread(this::commitAllTheTime);
      other.start();
      writers.add(other);
      Thread.sleep(300 + random.nextInt(600));
      if (stays) {
        FullDisk.fill(true);
      } else {
        FullDisk.failOnce();
      }
      for (Thread writer : writers) {
        writer.join(30_000);
        assertTrue(!writer.isAlive(), "a writer waits for ever");
      }
      FullDisk.fill(false);
      try (Connection connection = open()) {
        for (int writer = 0; writer < WRITERS; writer++) {
          long newest = 0;
          long rows = 0;
          for (int table = 0; table < TABLES; table++) {
            String of = " from t" + table + " where writer = " + writer;
            newest = Math.max(newest, number(connection, "select max(number)" + of));
            rows += number(connection, "select count(*)" + of);
          }
          assertTrue(
              newest == acknowledged[writer] || newest == acknowledged[writer] + 1,
              "round %d: %d stored of %d".formatted(round, newest, acknowledged[writer]));
          assertEquals(newest, rows);
          acknowledged[writer] = newest;
        }
      }
    }
  }

  private void write(int writer, long[] acknowledged) {
    try (Connection connection = open()) {
      connection.setAutoCommit(false);
      while (true) {
        long number = acknowledged[writer] + 1;
        try (PreparedStatement said =
            connection.prepareStatement(
                "insert into t%d values (?, ?, ?)".formatted(number * 7 % TABLES))) {
          said.setInt(1, writer);
          said.setLong(2, number);
          said.setString(3, TEXT + number);
          said.executeUpdate();
        }
        connection.commit();
        acknowledged[writer] = number;
      }
    } catch (SQLException full) {
      // The number was not acknowledged.
    }
  }

  /** As H2 does of itself when much has changed. */
  private void commitAllTheTime() {
    try (Connection connection = open()) {
      MVStore store =
          ((SessionLocal) connection.unwrap(JdbcConnection.class).getSession())
              .getDatabase()
              .getStore()
              .getMvStore();
      while (!store.isClosed()) {
        store.commit();
      }
    } catch (SQLException | MVStoreException full) {
      // The writers find out by themselves.
    }
  }

  private Connection open() throws SQLException {
    return new DurableH2Driver()
        .connect(
            "jdbc:h2:%s:%s:%s"
                    .formatted(
                        DurableH2Driver.SCHEME,
                        FullDisk.SCHEME,
                        folder.resolve("full").toAbsolutePath())
                + KilledWriter.SETTINGS,
            new Properties());
  }

  private static long number(Connection connection, String sql) throws SQLException {
    try (Statement statement = connection.createStatement();
        ResultSet row = statement.executeQuery(sql)) {
      row.next();
      return row.getLong(1);
    }
  }
}
