package org.tidemark.operation;

import io.quarkus.runtime.StartupEvent;
import io.quarkus.scheduler.Scheduled;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.io.IOException;
import java.nio.file.Path;
import java.sql.SQLException;
import java.util.Optional;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.jboss.logging.Logger;
import org.tidemark.application.ConsistencyCheck;
import org.tidemark.clinic.Clinics;
import org.tidemark.store.ChosenDatabase;
import org.tidemark.store.EmbeddedFile;

/** Does what commands ask of the service that has opened the embedded database. */
@ApplicationScoped
class Errands {
  private static final Logger LOG = Logger.getLogger(Errands.class);

  private final Backup backup;
  private final ConsistencyCheck check;
  private final Clinics clinics;
  private final Path folder;
  private final boolean embedded;

  Errands(
      Backup backup,
      ConsistencyCheck check,
      Clinics clinics,
      @ConfigProperty(name = "tidemark.data") Path folder,
      @ConfigProperty(name = ChosenDatabase.URL) Optional<String> server) {
    this.backup = backup;
    this.check = check;
    this.clinics = clinics;
    this.folder = folder;
    this.embedded = server.isEmpty();
  }

  void begin(@Observes StartupEvent start) throws IOException {
    if (embedded) {
      Errand.forgetAll(folder);
    }
  }

  @Scheduled(
      every = "{tidemark.errands-every}",
      concurrentExecution = Scheduled.ConcurrentExecution.SKIP)
  void look() throws IOException {
    if (embedded) {
      for (Errand.Asked asked : Errand.waiting(folder)) {
        run(asked.errand(), asked.kind());
      }
    }
  }

  private void run(Errand errand, Errand.Kind kind) throws IOException {
    errand.begin(kind);
    LOG.infof("A command asks for: %s.", kind.ending());
    Errand.Told told;
    try {
      told = kind == Errand.Kind.CHECK ? CheckReport.ofAll(clinics, check) : copied(errand);
    } catch (SQLException | IOException | RuntimeException e) {
      // The command tells it, as the log does.
      told = new Errand.Told(1, e.getMessage() == null ? e.getClass().getName() : e.getMessage());
      LOG.errorf("What a command asked for failed: %s.", told.text());
    }
    errand.end(told);
  }

  private Errand.Told copied(Errand errand) throws SQLException, IOException {
    backup.make(new EmbeddedFile(folder), errand.copy());
    return new Errand.Told(0, "");
  }
}
