package org.tidemark.store;

import java.sql.Connection;
import java.sql.PreparedStatement;
import java.sql.SQLException;
import java.sql.Statement;

/**
 * Fills a database with rows of which nine in ten are deleted again, so that its file is mostly
 * free, and then writes a row now and then and says its number once its commit has returned: run as
 * a process of its own, to be killed while the file gives room back.
 */
final class EmptiedWriter {
  private static final int ROWS = 2_500;
  private static final int KEPT_OF_EACH = 10;
  private static final int AT_ONCE = 200;
  private static final long PAUSE_MS = 700;

  private EmptiedWriter() {}

  /** What stands beside a number: some ten thousand characters. */
  static String text(long number) {
    return (number + " settled ").repeat(700);
  }

  /** Inserts a number with its text. */
  static void insert(Connection connection, String table, long number) throws SQLException {
    try (PreparedStatement insert =
        connection.prepareStatement("insert into " + table + " values (?, ?)")) {
      insert.setLong(1, number);
      insert.setString(2, text(number));
      insert.executeUpdate();
    }
  }

  /**
   * Writes.
   *
   * @param args the database's file, and the first number that is written
   */
  public static void main(String[] args) throws Exception {
    long number = Long.parseLong(args[1]);
    try (Connection connection = KilledWriter.open(args[0]);
        Statement statement = connection.createStatement()) {
      connection.setAutoCommit(false);
      statement.execute(
          "create table if not exists said (number bigint primary key, text varchar)");
      statement.execute("create table if not exists crossed_out (number bigint, text varchar)");
      for (int row = 0; row < ROWS; row++) {
        if (row % KEPT_OF_EACH == 0) {
          insert(connection, "said", number++);
        } else {
          insert(connection, "crossed_out", number);
        }
        if (row % AT_ONCE == 0) {
          connection.commit();
        }
      }
      statement.execute("delete from crossed_out");
      connection.commit();
      System.out.println(number - 1);
      while (true) {
        Thread.sleep(PAUSE_MS);
        insert(connection, "said", number);
        connection.commit();
        System.out.println(number++);
      }
    }
  }
}
