package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.sql.Connection;
import java.sql.PreparedStatement;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.ArrayList;
import java.util.List;
import java.util.concurrent.TimeUnit;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** A process that is killed loses nothing that it has acknowledged, and its file stays small. */
class KillTest {
  private static final int ROUNDS = 4;
  private static final int WRITERS = 4;
  private static final int ACKNOWLEDGED_A_ROUND = 150;
  private static final String TEXT = "settled ".repeat(50);

  @TempDir Path folder;

  @Test
  void nothingThatWasAcknowledgedIsLost() throws Exception {
    String file = folder.resolve("killed").toAbsolutePath().toString();
    long[] acknowledged = new long[WRITERS];
    for (int round = 0; round < ROUNDS; round++) {
      writeUntilKilled(file, acknowledged, ACKNOWLEDGED_A_ROUND + 37 * round);
      try (Connection connection = KilledWriter.open(file)) {
        for (int writer = 0; writer < WRITERS; writer++) {
          String mine = " where writer = " + writer;
          long stored = number(connection, "select count(*) from said" + mine);
          // A commit may have reached the disk just before its process was killed.
          assertTrue(
              stored == acknowledged[writer] || stored == acknowledged[writer] + 1,
              stored + " stored of " + acknowledged[writer]);
          assertEquals(stored, number(connection, "select max(number) from said" + mine));
          assertEquals(stored, number(connection, "select number from newest" + mine));
          acknowledged[writer] = stored;
        }
      }
    }
  }

  /** Moves on to the last numbers that were acknowledged; at least so many of them were. */
  private void writeUntilKilled(String file, long[] acknowledged, int atLeast) throws Exception {
    Path said = Files.createTempFile(folder, "said", ".txt");
    List<String> command =
        new ArrayList<>(
            List.of(
                Path.of(System.getProperty("java.home"), "bin", "java").toString(),
                "-XX:TieredStopAtLevel=1",
                "-cp",
                System.getProperty("java.class.path"),
                KilledWriter.class.getName(),
                file,
                TEXT));
    for (long last : acknowledged) {
      command.add(Long.toString(last + 1));
    }
    Process writer =
        new ProcessBuilder(command)
            .redirectOutput(said.toFile())
            .redirectError(ProcessBuilder.Redirect.INHERIT)
            .start();
    while (wholeLines(said).size() < atLeast) {
      assertTrue(writer.isAlive(), "the writer ended by itself");
      Thread.sleep(20);
    }
    writer.destroyForcibly();
    assertTrue(writer.waitFor(30, TimeUnit.SECONDS));
    assertEquals(128 + 9, writer.exitValue());
    for (String line : wholeLines(said)) {
      String[] told = line.split(" ");
      acknowledged[Integer.parseInt(told[0])] = Long.parseLong(told[1]);
    }
  }

  private static List<String> wholeLines(Path file) throws IOException {
    String text = Files.readString(file);
    return text.substring(0, text.lastIndexOf('\n') + 1).lines().toList();
  }

  @Test
  void theFileStaysBoundedUnderUpdates() throws Exception {
    String file = folder.resolve("updated").toAbsolutePath().toString();
    int rows = 50;
    int characters = 20_000;
    try (Connection connection = KilledWriter.open(file);
        Statement make = connection.createStatement()) {
      connection.setAutoCommit(false);
      make.execute("create table plan (id int primary key, state text)");
      try (PreparedStatement write = connection.prepareStatement("merge into plan values (?, ?)")) {
        for (int i = 0; i < 3_000; i++) {
          write.setInt(1, i % rows);
          write.setString(2, Integer.toString(i % 10).repeat(characters));
          write.executeUpdate();
          connection.commit();
        }
      }
      long written = 3_000L * characters;
      long size = Files.size(Path.of(file + ".mv.db"));
      assertTrue(size < written / 3, size + " bytes after " + written + " were written");
    }
  }

  private static long number(Connection connection, String sql) throws SQLException {
    try (Statement statement = connection.createStatement();
        ResultSet row = statement.executeQuery(sql)) {
      row.next();
      return row.getLong(1);
    }
  }
}
