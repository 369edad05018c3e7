package org.tidemark.store;

import java.sql.Connection;
import java.sql.DriverManager;
import java.sql.PreparedStatement;
import java.sql.Statement;

/**
 * Writes rows for as long as it lives, says the number of each once its commit has returned, and
 * keeps one counter up to date: run as a process of its own, to be killed.
 */
final class KilledWriter {
  /** The settings of the service's own database. */
  static final String SETTINGS = ";WRITE_DELAY=0;RETENTION_TIME=0;DB_CLOSE_ON_EXIT=FALSE";

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
   * @param args the database's file, the first number to write, and the text beside each number
   */
  public static void main(String[] args) throws Exception {
    try (Connection connection = open(args[0]);
        Statement make = connection.createStatement()) {
      make.execute("create table if not exists said (number bigint primary key, text varchar)");
      make.execute("create table if not exists newest (id int primary key, number bigint)");
      make.execute("merge into newest key (id) values (1, 0)");
      connection.setAutoCommit(false);
      try (PreparedStatement said = connection.prepareStatement("insert into said values (?, ?)");
          PreparedStatement newest =
              connection.prepareStatement("update newest set number = ? where id = 1")) {
        for (long number = Long.parseLong(args[1]); ; number++) {
          said.setLong(1, number);
          said.setString(2, args[2]);
          said.executeUpdate();
          newest.setLong(1, number);
          newest.executeUpdate();
          connection.commit();
          System.out.println(number);
        }
      }
    }
  }
}
