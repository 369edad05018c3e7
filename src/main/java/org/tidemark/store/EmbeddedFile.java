package org.tidemark.store;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.sql.Connection;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.Properties;
import org.h2.api.ErrorCode;

/**
 * The file of the embedded database, for who is not the service: it is only ever read, so that
 * nothing in it changes.
 *
 * @param folder the folder of the embedded database
 */
public record EmbeddedFile(Path folder) {
  private static final String NAME = "tidemark";
  private static final String ENDING = ".mv.db";

  /** How the file stands. */
  public enum State {
    /** There is none. */
    ABSENT,
    /** A process has opened it. */
    SERVING,
    /** A migration was begun and not finished; the next start of the service begins it anew. */
    UNFINISHED,
    /** No process has opened it. */
    FREE
  }

  /** Where it is. */
  public Path file() {
    return folder.resolve(NAME + ENDING);
  }

  /**
   * How it stands at this moment.
   *
   * @throws SQLException when it is no database, or is damaged
   */
  public State state() throws SQLException {
    if (!Files.exists(file())) {
      return State.ABSENT;
    }
    try {
      open(NAME).close();
      return Files.exists(folder.resolve(NAME + MigrationCopy.COPY))
          ? State.UNFINISHED
          : State.FREE;
    } catch (SQLException e) {
      if (e.getErrorCode() == ErrorCode.DATABASE_ALREADY_OPEN_1) {
        return State.SERVING;
      }
      throw e;
    }
  }

  /** Copies it while no process has opened it. */
  public void copyTo(Path copy) throws SQLException, IOException {
    try (Connection open = open(NAME)) {
      DatabaseCopy.make(open, copy);
    }
  }

  /**
   * Takes it out of a copy, where there is none. It takes its place only once it has been opened
   * and read.
   *
   * @return how many records it holds
   * @throws IOException when the copy is not whole
   * @throws SQLException when what it holds is no database of this service
   */
  public long restore(Path copy) throws IOException, SQLException {
    Files.createDirectories(folder);
    String name = NAME + "-restored";
    Path restored = folder.resolve(name + ENDING);
    try {
      DatabaseCopy.extract(copy, restored);
      long records = records(name);
      Files.move(restored, file());
      return records;
    } finally {
      Files.deleteIfExists(restored);
    }
  }

  private long records(String name) throws SQLException {
    try (Connection open = open(name);
        Statement select = open.createStatement();
        ResultSet number = select.executeQuery("select count(*) from resource_current")) {
      number.next();
      return number.getLong(1);
    }
  }

  private Connection open(String name) throws SQLException {
    Properties user = new Properties();
    user.setProperty("user", NAME);
    user.setProperty("password", "");
    return new org.h2.Driver()
        .connect(
            "jdbc:h2:file:%s;IFEXISTS=TRUE;ACCESS_MODE_DATA=r"
                .formatted(folder.toAbsolutePath().resolve(name)),
            user);
  }
}
