package org.tidemark.store;

import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.sql.Connection;
import java.sql.SQLException;
import java.util.Optional;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.flywaydb.core.Flyway;
import org.flywaydb.core.api.callback.BaseCallback;
import org.flywaydb.core.api.callback.Context;
import org.flywaydb.core.api.callback.Event;

/**
 * Makes the migrations of the embedded database happen as a whole or not at all. H2 commits with
 * each statement that changes a table, so that a process that ends in the midst of a migration
 * leaves half of it. So the file is copied before, and the copy goes when all is done; a copy that
 * is found at a start is what the start begins from.
 */
final class MigrationCopy extends BaseCallback {
  private static final Pattern FILE =
      Pattern.compile("jdbc:h2:" + DurableH2Driver.SCHEME + ":(?:\\w+:)?([^;]+).*");

  private static final String DATABASE = ".mv.db";
  static final String COPY = ".before-migration.zip";

  @Override
  public boolean supports(Event event, Context context) {
    return event == Event.BEFORE_MIGRATE || event == Event.AFTER_MIGRATE;
  }

  @Override
  public void handle(Event event, Context context) {
    try {
      Connection connection = context.getConnection();
      Optional<Path> copy = beside(connection.getMetaData().getURL(), COPY);
      if (copy.isEmpty()) {
        return;
      }
      if (event == Event.AFTER_MIGRATE) {
        Files.deleteIfExists(copy.get());
      } else if (new Flyway(context.getConfiguration()).info().pending().length > 0) {
        DatabaseCopy.make(connection, copy.get());
      }
    } catch (SQLException e) {
      throw new IllegalStateException("no copy before the migration", e);
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  /** Puts the copy of an unfinished migration, if there is one, in the place of the file. */
  static void restoreUnfinished(String url) throws IOException {
    Optional<Path> copy = beside(url, COPY);
    if (copy.isEmpty() || !Files.exists(copy.get())) {
      return;
    }
    DatabaseCopy.extract(copy.get(), beside(url, DATABASE).orElseThrow());
    Files.delete(copy.get());
  }

  private static Optional<Path> beside(String url, String ending) {
    Matcher file = FILE.matcher(url);
    return file.matches() ? Optional.of(Path.of(file.group(1) + ending)) : Optional.empty();
  }
}
