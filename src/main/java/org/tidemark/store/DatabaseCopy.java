package org.tidemark.store;

import java.io.IOException;
import java.io.InputStream;
import java.io.OutputStream;
import java.nio.channels.FileChannel;
import java.nio.file.Files;
import java.nio.file.Path;
import java.nio.file.StandardCopyOption;
import java.nio.file.StandardOpenOption;
import java.sql.Connection;
import java.sql.PreparedStatement;
import java.sql.SQLException;
import java.util.zip.ZipEntry;
import java.util.zip.ZipInputStream;

/** Copies of the embedded database's file, as H2 makes them: a zip that holds the file. */
public final class DatabaseCopy {
  private static final String ENDING = ".mv.db";

  private DatabaseCopy() {}

  /**
   * Copies the file as it stands at one moment, while others go on to read and write. It takes its
   * place only when it is whole and on the disk.
   *
   * @param connection a connection to the embedded database
   * @param copy where to; replaced, if it is there
   * @throws SQLException when the database cannot be read, or the copy not be written
   */
  public static void make(Connection connection, Path copy) throws SQLException, IOException {
    Path begun = copy.resolveSibling(copy.getFileName() + ".begun");
    OwnerOnly.make(begun);
    try (PreparedStatement backup = connection.prepareStatement("backup to ?")) {
      backup.setString(1, begun.toString());
      backup.execute();
      putInPlace(begun, copy);
    } finally {
      Files.deleteIfExists(begun);
    }
  }

  /**
   * Takes the database's file out of a copy. It takes its place only when it is whole and on the
   * disk.
   *
   * @param copy the copy
   * @param database where to; replaced, if it is there
   * @throws IOException when the copy is not whole, or holds no database
   */
  public static void extract(Path copy, Path database) throws IOException {
    Path begun = database.resolveSibling(database.getFileName() + ".restored");
    try (InputStream file = Files.newInputStream(copy);
        ZipInputStream zip = new ZipInputStream(file)) {
      ZipEntry entry = zip.getNextEntry();
      while (entry != null && !entry.getName().endsWith(ENDING)) {
        entry = zip.getNextEntry();
      }
      if (entry == null) {
        throw new IOException(copy + " holds no database");
      }
      OwnerOnly.make(begun);
      try (OutputStream whole = Files.newOutputStream(begun)) {
        zip.transferTo(whole);
      }
      putInPlace(begun, database);
    } finally {
      Files.deleteIfExists(begun);
    }
  }

  /** The disk has the whole file before it takes the place of another. */
  private static void putInPlace(Path file, Path place) throws IOException {
    try (FileChannel written = FileChannel.open(file, StandardOpenOption.WRITE)) {
      written.force(true);
    }
    Files.move(file, place, StandardCopyOption.ATOMIC_MOVE, StandardCopyOption.REPLACE_EXISTING);
  }
}
