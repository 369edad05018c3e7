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
import java.util.List;
import java.util.concurrent.TimeUnit;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** A process that is killed loses nothing that it has acknowledged, and its file stays small. */
class KillTest {
  private static final int ROUNDS = 4;
  private static final int ACKNOWLEDGED_A_ROUND = 150;
  private static final String TEXT = "settled ".repeat(50);

  @TempDir Path folder;

  @Test
  void nothingThatWasAcknowledgedIsLost() throws Exception {
    String file = folder.resolve("killed").toAbsolutePath().toString();
    long acknowledged = 0;
    for (int round = 0; round < ROUNDS; round++) {
      acknowledged = writeUntilKilled(file, acknowledged + 1, ACKNOWLEDGED_A_ROUND + 37 * round);
      try (Connection connection = KilledWriter.open(file)) {
        long stored = number(connection, "select count(*) from said");
        // A commit may have reached the disk just before its process was killed.
        assertTrue(stored == acknowledged || stored == acknowledged + 1, stored + " stored");
        assertEquals(stored, number(connection, "select max(number) from said"));
        assertEquals(stored, number(connection, "select number from newest"));
        acknowledged = stored;
      }
    }
  }

  /** The last number that was acknowledged; at least so many of them were. */
  private long writeUntilKilled(String file, long from, int atLeast) throws Exception {
    Path said = Files.createTempFile(folder, "said", ".txt");
    Process writer =
        new ProcessBuilder(
                Path.of(System.getProperty("java.home"), "bin", "java").toString(),
                "-XX:TieredStopAtLevel=1",
                "-cp",
                System.getProperty("java.class.path"),
                KilledWriter.class.getName(),
                file,
                Long.toString(from),
                TEXT)
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
    List<String> numbers = wholeLines(said);
    return Long.parseLong(numbers.get(numbers.size() - 1));
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
      make.execute("create table plan (id int primary key, state text)");
      try (PreparedStatement write = connection.prepareStatement("merge into plan values (?, ?)")) {
        for (int i = 0; i < 3_000; i++) {
          write.setInt(1, i % rows);
          write.setString(2, Integer.toString(i % 10).repeat(characters));
          write.executeUpdate();
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
