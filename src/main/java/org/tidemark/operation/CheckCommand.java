package org.tidemark.operation;

import io.quarkus.runtime.Quarkus;
import io.quarkus.runtime.QuarkusApplication;
import jakarta.inject.Inject;
import java.io.IOException;
import java.io.PrintStream;
import java.nio.charset.StandardCharsets;
import java.sql.SQLException;
import org.tidemark.application.ConsistencyCheck;
import org.tidemark.audit.AuditTrail;
import org.tidemark.clinic.Clinics;
import org.tidemark.store.EmbeddedFile;

/**
 * The command {@code check}: holds everything that is kept against everything else, and names what
 * is not as it must be. It ends with 0 when all is whole, with 1 when something was found.
 */
public final class CheckCommand implements QuarkusApplication {
  private static final int REFUSED = 1;

  @Inject ConsistencyCheck check;
  @Inject AuditTrail trail;
  @Inject Clinics clinics;

  /**
   * Carries it out: in the service that has opened the embedded database, else in this process.
   *
   * @return the code that the process ends with, or -1 where Quarkus ends it
   */
  public static int begin() {
    Settings settings = Settings.read();
    try {
      EmbeddedFile database = settings.database();
      if (settings.isServer() || database.state() == EmbeddedFile.State.FREE) {
        prepare();
        Quarkus.run(CheckCommand.class);
        return -1;
      }
      return ask(database);
    } catch (IOException | SQLException e) {
      out().println("Nothing was checked: " + e.getMessage());
      return REFUSED;
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
      return REFUSED;
    }
  }

  private static int ask(EmbeddedFile database)
      throws IOException, SQLException, InterruptedException {
    if (database.state() != EmbeddedFile.State.SERVING) {
      out()
          .println(
              "There is no database in %s, or a migration was not finished: start the service."
                  .formatted(database.folder().toAbsolutePath()));
      return REFUSED;
    }
    Errand errand = Errand.ask(database.folder(), Errand.Kind.CHECK);
    try {
      Errand.Told told = Waiting.until(errand, Errand.Kind.CHECK, database);
      out().print(told.text());
      return told.code();
    } finally {
      errand.forget();
    }
  }

  private static void prepare() {
    System.setProperty("quarkus.http.host-enabled", "false");
    System.setProperty("quarkus.http.host", "127.0.0.1");
    System.setProperty("tidemark.access", "open");
    System.setProperty("quarkus.scheduler.enabled", "false");
    System.setProperty("quarkus.banner.enabled", "false");
    System.setProperty("quarkus.log.level", "WARN");
  }

  @Override
  public int run(String... args) {
    trail.catchUpAll();
    Errand.Told told = CheckReport.ofAll(clinics, check);
    out().print(told.text());
    return told.code();
  }

  private static PrintStream out() {
    return new PrintStream(System.out, true, StandardCharsets.UTF_8);
  }
}
