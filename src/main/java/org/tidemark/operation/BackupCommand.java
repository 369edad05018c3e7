package org.tidemark.operation;

import java.io.IOException;
import java.io.PrintStream;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.nio.file.StandardCopyOption;
import java.sql.SQLException;
import org.tidemark.store.EmbeddedFile;

/**
 * The command {@code backup FILE}: copies what the service keeps in its folder to a file, while the
 * service runs or while it does not. It ends with 0 when the file is whole and on the disk, 1 when
 * it could not be made.
 */
public final class BackupCommand {
  private static final int USAGE = 2;
  private static final int REFUSED = 1;

  private final Settings settings = Settings.read();
  private final PrintStream out = new PrintStream(System.out, true, StandardCharsets.UTF_8);

  private BackupCommand() {}

  /**
   * Carries it out.
   *
   * @param args where to
   * @return the code that the process ends with
   */
  public static int run(String... args) {
    return new BackupCommand().backUp(args);
  }

  private int backUp(String... args) {
    if (args.length != 1) {
      out.println("backup FILE");
      return USAGE;
    }
    Path file = Path.of(args[0]).toAbsolutePath();
    if (settings.isServer()) {
      out.println("The records lie in PostgreSQL: use pg_dump, see deploy/RUNBOOK.md.");
      return REFUSED;
    }
    if (Files.exists(file) || !Files.isDirectory(file.getParent())) {
      out.println(file + " is there already, or its folder is not.");
      return REFUSED;
    }
    try {
      return backUp(settings.database(), file);
    } catch (IOException | SQLException e) {
      out.println("No backup was made: " + e.getMessage());
      return REFUSED;
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
      return REFUSED;
    }
  }

  private int backUp(EmbeddedFile database, Path file)
      throws IOException, SQLException, InterruptedException {
    switch (database.state()) {
      case ABSENT -> {
        out.println("There is no database in " + database.folder().toAbsolutePath() + ".");
        return REFUSED;
      }
      case UNFINISHED -> {
        out.println("A migration was not finished: start the service once, then make the backup.");
        return REFUSED;
      }
      case SERVING -> {
        Errand errand = Errand.ask(database.folder(), Errand.Kind.BACKUP);
        try {
          Errand.Told told = Waiting.until(errand, Errand.Kind.BACKUP, database);
          if (told.code() != 0) {
            out.println("No backup was made: " + told.text());
            return REFUSED;
          }
          Files.move(errand.copy(), file, StandardCopyOption.REPLACE_EXISTING);
        } finally {
          errand.forget();
        }
      }
      case FREE -> Backup.makeOfFree(database, file);
    }
    out.println("%s has the whole database, %d bytes.".formatted(file, Files.size(file)));
    return 0;
  }
}
