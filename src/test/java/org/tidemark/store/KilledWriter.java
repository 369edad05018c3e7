package org.tidemark.store;

import java.sql.Connection;
import java.sql.DriverManager;
import java.sql.PreparedStatement;
import java.sql.Statement;
import java.util.ArrayList;
import java.util.List;

/**
 * Writes rows on several connections for as long as it lives, says the number of each once its
 * commit has returned, and keeps a counter of each connection up to date: run as a process of its
 * own, to be killed.
 */
final class KilledWriter {
  /** The settings of the service's own database. */
  static final String SETTINGS = ";RETENTION_TIME=0;DB_CLOSE_ON_EXIT=FALSE";

  private KilledWriter() {}

  static String url(String file) {
    return "jdbc:h2:" + DurableH2Driver.SCHEME + ":" + file + SETTINGS;
  }

  static Connection open(String file) throws Exception {
    DriverManager.registerDriver(new DurableH2Driver());
    return new DurableH2Driver().connect(url(file), new java.util.Properties());
  }

  /**
   * Writes.
   *
   * @param args the database's file, the text beside each number, and for each connection the first
   *     number that it writes
   */
  public static void main(String[] args) throws Exception {
    try (Connection connection = open(args[0]);
        Statement make = connection.createStatement()) {
      connection.setAutoCommit(false);
      make.execute(
          "create table if not exists said (writer int, number bigint, text varchar,"
              + " primary key (writer, number))");
      make.execute("create table if not exists newest (writer int primary key, number bigint)");
      connection.commit();
      List<Thread> writers = new ArrayList<>();
      for (int writer = 0; writer < args.length - 2; writer++) {
        int which = writer;
        long first = Long.parseLong(args[2 + writer]);
        writers.add(new Thread(() -> write(args[0], which, first, args[1])));
      }
      writers.forEach(Thread::start);
      for (Thread writer : writers) {
        writer.join();
      }
    }
  }

  private static void write(String file, int writer, long first, String text) {
    try (Connection connection = open(file);
        PreparedStatement said = connection.prepareStatement("insert into said values (?, ?, ?)");
        PreparedStatement newest = connection.prepareStatement("merge into newest values (?, ?)")) {
      connection.setAutoCommit(false);
      for (long number = first; ; number++) {
        said.setInt(1, writer);
        said.setLong(2, number);
        said.setString(3, text);
        said.executeUpdate();
        newest.setInt(1, writer);
        newest.setLong(2, number);
        newest.executeUpdate();
        connection.commit();
        System.out.println(writer + " " + number);
      }
    } catch (Exception e) {
      e.printStackTrace();
      System.exit(1);
    }
  }
}
