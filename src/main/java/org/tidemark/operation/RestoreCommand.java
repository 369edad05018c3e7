package org.tidemark.operation;

import java.io.IOException;
import java.io.PrintStream;
import java.nio.charset.StandardCharsets;
import java.nio.file.FileSystem;
import java.nio.file.FileSystems;
import java.nio.file.Files;
import java.nio.file.Path;
import java.sql.SQLException;
import org.tidemark.store.EmbeddedFile;
import org.tidemark.store.OwnerOnly;

/**
 * The command {@code restore FILE}: puts what a backup holds into a folder that has no database. It
 * ends with 0 when all of it is there and was read, 1 when nothing was restored.
 */
public final class RestoreCommand {
  private static final int USAGE = 2;
  private static final int REFUSED = 1;

  private final Settings settings = Settings.read();
  private final PrintStream out = new PrintStream(System.out, true, StandardCharsets.UTF_8);

  private RestoreCommand() {}

  /**
   * Carries it out.
   *
   * @param args where from
   * @return the code that the process ends with
   */
  public static int run(String... args) {
    return new RestoreCommand().restore(args);
  }

  private int restore(String... args) {
    if (args.length != 1) {
      out.println("restore FILE");
      return USAGE;
    }
    if (settings.isServer()) {
      out.println("The records lie in PostgreSQL: use pg_restore, see deploy/RUNBOOK.md.");
      return REFUSED;
    }
    Path file = Path.of(args[0]);
    EmbeddedFile database = settings.database();
    try {
      if (database.state() != EmbeddedFile.State.ABSENT) {
        out.println(
            "There is a database in %s: move it away first."
                .formatted(database.folder().toAbsolutePath()));
        return REFUSED;
      }
      long records = database.restore(file);
      restoreBeside(file, database.folder());
      out.println("%s has %d records.".formatted(database.file().toAbsolutePath(), records));
      return 0;
    } catch (IOException | SQLException e) {
      out.println("Nothing was restored: " + e.getMessage());
      return REFUSED;
    }
  }

  private static void restoreBeside(Path copy, Path folder) throws IOException {
    try (FileSystem zip = FileSystems.newFileSystem(copy)) {
      for (String name : Backup.BESIDE) {
        Path kept = zip.getPath(name);
        if (Files.exists(kept) && !Files.exists(folder.resolve(name))) {
          OwnerOnly.copy(kept, folder.resolve(name));
        }
      }
    }
  }
}
