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
import java.util.Random;
import java.util.concurrent.TimeUnit;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** A process that is killed loses nothing that it has acknowledged, and its file stays small. */
class KillTest {
  private static final int ROUNDS = 4;
  private static final int SHRINKS = Math.max(1, Integer.getInteger("kill.rounds", 3) / 3);
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
    List<String> arguments = new ArrayList<>(List.of(file, TEXT));
    for (long last : acknowledged) {
      arguments.add(Long.toString(last + 1));
    }
    Path said = Files.createTempFile(folder, "said", ".txt");
    Process writer = started(KilledWriter.class, arguments, said);
    while (wholeLines(said).size() < atLeast) {
      assertTrue(writer.isAlive(), "the writer ended by itself");
      Thread.sleep(20);
    }
    kill(writer);
    for (String line : wholeLines(said)) {
      String[] told = line.split(" ");
      acknowledged[Integer.parseInt(told[0])] = Long.parseLong(told[1]);
    }
  }

  private static Process started(Class<?> writer, List<String> arguments, Path said)
      throws IOException {
    List<String> command =
        new ArrayList<>(
            List.of(
                Path.of(System.getProperty("java.home"), "bin", "java").toString(),
                "-XX:TieredStopAtLevel=1",
                "-cp",
                System.getProperty("java.class.path"),
                writer.getName()));
    command.addAll(arguments);
    return new ProcessBuilder(command)
        .redirectOutput(said.toFile())
        .redirectError(ProcessBuilder.Redirect.INHERIT)
        .start();
  }

  private static void kill(Process writer) throws InterruptedException {
    writer.destroyForcibly();
    assertTrue(writer.waitFor(30, TimeUnit.SECONDS));
    assertEquals(128 + 9, writer.exitValue());
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

  /** Killed while the file gives room back; then the room is given back all the same. */
  @Test
  void anIdleFileGivesRoomBackAndLosesNothing() throws Exception {
    String file = folder.resolve("emptied").toAbsolutePath().toString();
    Path onDisk = Path.of(file + ".mv.db");
    Random random = new Random(11);
    long stored = 0;
    for (int round = 0; round < SHRINKS; round++) {
      Path said = Files.createTempFile(folder, "emptied", ".txt");
      Process writer = started(EmptiedWriter.class, List.of(file, Long.toString(stored + 1)), said);
      while (wholeLines(said).isEmpty()) {
        assertTrue(writer.isAlive(), "the writer ended by itself");
        Thread.sleep(20);
      }
      long full = Files.size(onDisk);
      assertTrue(full > FileCompaction.SMALL_BYTES, full + " bytes are too few to be given back");
      while (Files.size(onDisk) >= full) {
        assertTrue(writer.isAlive(), "the writer ended by itself");
        Thread.sleep(5);
      }
      Thread.sleep(random.nextInt(500));
      kill(writer);
      List<String> lines = wholeLines(said);
      long acknowledged = Long.parseLong(lines.get(lines.size() - 1));
      try (Connection connection = KilledWriter.open(file)) {
        stored = requireWhole(connection);
        assertTrue(stored == acknowledged || stored == acknowledged + 1, stored + " stored");
      }
    }
    try (Connection connection = KilledWriter.open(file)) {
      connection.setAutoCommit(false);
      EmptiedWriter.insert(connection, "said", ++stored);
      connection.commit();
      long alive = number(connection, "select sum(length(text)) from said");
      long most = Math.max(FileCompaction.SMALL_BYTES, 2 * alive);
      for (int i = 0; i < 600 && Files.size(onDisk) > most; i++) {
        Thread.sleep(100);
      }
      assertTrue(Files.size(onDisk) <= most, Files.size(onDisk) + " bytes of " + alive);
      assertEquals(stored, requireWhole(connection));
    }
  }

  /** Every row up to the last is there, with its text; returns the last number. */
  private static long requireWhole(Connection connection) throws SQLException {
    try (Statement statement = connection.createStatement();
        ResultSet row = statement.executeQuery("select number, text from said order by number")) {
      long number = 0;
      while (row.next()) {
        number++;
        assertEquals(number, row.getLong(1));
        assertEquals(EmptiedWriter.text(number), row.getString(2));
      }
      return number;
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
