package org.tidemark.application;

import io.quarkus.runtime.ShutdownEvent;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;

/**
 * Whether the service stops. Work that the clock asks for begins nothing more then; what is broken
 * off is taken up by another instance or after the next start.
 */
@ApplicationScoped
public class Stopping {
  private volatile boolean begun;

  void begin(@Observes ShutdownEvent stop) {
    begun = true;
  }

  public boolean begun() {
    return begun;
  }

  /** Logs why a piece of work failed, unless the stop has broken it off. */
  public void log(RuntimeException failed) {
    if (!begun) {
      Faults.log(failed);
    }
  }
}
