package org.tidemark.operation;

import io.agroal.api.AgroalDataSource;
import jakarta.enterprise.context.ApplicationScoped;
import java.io.IOException;
import java.nio.file.FileSystem;
import java.nio.file.FileSystems;
import java.nio.file.Files;
import java.nio.file.Path;
import java.nio.file.StandardCopyOption;
import java.sql.Connection;
import java.sql.SQLException;
import java.util.List;
import org.tidemark.store.DatabaseCopy;
import org.tidemark.store.EmbeddedFile;

/**
 * A copy of all that the service keeps in its folder: the embedded database as it stands at one
 * moment, and the key that documents are signed with, if the service has made one.
 */
@ApplicationScoped
class Backup {
  /** What lies beside the database and cannot be made anew. */
  static final List<String> BESIDE = List.of("handover-key.json");

  private final AgroalDataSource connections;

  Backup(AgroalDataSource connections) {
    this.connections = connections;
  }

  /** Copies the database that this process has opened. */
  void make(EmbeddedFile database, Path copy) throws SQLException, IOException {
    requireRoom(database, copy);
    try (Connection connection = connections.getConnection()) {
      DatabaseCopy.make(connection, copy);
    }
    addBeside(database.folder(), copy);
  }

  /** Copies a database that no process has opened. */
  static void makeOfFree(EmbeddedFile database, Path copy) throws SQLException, IOException {
    requireRoom(database, copy);
    database.copyTo(copy);
    addBeside(database.folder(), copy);
  }

  /** A copy must not be what fills the disk of the service; it is never larger than the file. */
  private static void requireRoom(EmbeddedFile database, Path copy) throws IOException {
    long needed = 2 * Files.size(database.file());
    long free = Files.getFileStore(copy.toAbsolutePath().getParent()).getUsableSpace();
    if (free < needed) {
      throw new IOException(
          "%s has room for %d MiB, and a copy is made only where there is room for %d MiB"
              .formatted(copy.toAbsolutePath().getParent(), free >> 20, needed >> 20));
    }
  }

  private static void addBeside(Path folder, Path copy) throws IOException {
    for (String name : BESIDE) {
      if (Files.exists(folder.resolve(name))) {
        try (FileSystem zip = FileSystems.newFileSystem(copy)) {
          Files.copy(folder.resolve(name), zip.getPath(name), StandardCopyOption.REPLACE_EXISTING);
        }
      }
    }
  }
}
