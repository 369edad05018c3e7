package org.tidemark.store;

import io.quarkus.runtime.Quarkus;
import io.quarkus.runtime.StartupEvent;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.util.concurrent.atomic.AtomicReference;
import java.util.function.Consumer;
import org.eclipse.microprofile.health.HealthCheck;
import org.eclipse.microprofile.health.HealthCheckResponse;
import org.eclipse.microprofile.health.Liveness;
import org.h2.mvstore.MVStore;
import org.h2.mvstore.MVStoreException;
import org.jboss.logging.Logger;

/**
 * Ends the process when the embedded database has failed. When its file cannot be written, as on a
 * full disk, H2 closes its store for good; only a new start can tell what the file has, and that is
 * everything that was acknowledged.
 */
@Liveness
@ApplicationScoped
public class FailedStore implements HealthCheck {
  /** How the process ends: an error of input or output, as sysexits.h of BSD numbers it. */
  public static final int EXIT_CODE = 74;

  private static final Logger LOG = Logger.getLogger(FailedStore.class);

  /** Requests that have met the failure are answered meanwhile. */
  private static final long SECONDS_TO_END = 30;

  private static final AtomicReference<MVStoreException> FAILURE = new AtomicReference<>();
  private static final AtomicReference<Consumer<MVStoreException>> LISTENER =
      new AtomicReference<>(failure -> {});

  FailedStore() {}

  void begin(@Observes StartupEvent start) {
    LISTENER.set(FailedStore::end);
  }

  /** Has the service learn that a store has failed, if it has. */
  static void tell(MVStore store) {
    MVStoreException failure = store.getPanicException();
    if (failure != null && FAILURE.compareAndSet(null, failure)) {
      LISTENER.get().accept(failure);
    }
  }

  private static void end(MVStoreException failure) {
    LOG.fatalf(
        "The embedded database has failed, and the service ends with code %d to be started anew."
            + " Everything acknowledged is in the file. Is the disk full? %s",
        EXIT_CODE, why(failure));
    Thread guard = new Thread(FailedStore::endAtLast, "end of a failed store");
    guard.setDaemon(true);
    guard.start();
    Quarkus.asyncExit(EXIT_CODE);
  }

  /** A stop that hangs must not leave a process that serves nobody. */
  private static void endAtLast() {
    try {
      Thread.sleep(SECONDS_TO_END * 1_000);
    } catch (InterruptedException stopped) {
      Thread.currentThread().interrupt();
    }
    Runtime.getRuntime().halt(EXIT_CODE);
  }

  /** The store's messages tell of places in the file, never of what is written there. */
  private static String why(Throwable failure) {
    StringBuilder why = new StringBuilder();
    for (Throwable at = failure; at != null && at != at.getCause(); at = at.getCause()) {
      why.append(why.isEmpty() ? "" : ", because of ").append(at);
    }
    return why.toString();
  }

  @Override
  public HealthCheckResponse call() {
    return HealthCheckResponse.named("embedded database").status(FAILURE.get() == null).build();
  }
}
