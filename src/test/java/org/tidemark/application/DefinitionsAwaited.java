package org.tidemark.application;

import io.quarkus.runtime.StartupEvent;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.util.Optional;
import org.hl7.fhir.r4.model.Patient;

/**
 * Lets no test begin before R4's definitions are read, so that none meets the first request's wait
 * for them on a busy machine.
 */
@ApplicationScoped
class DefinitionsAwaited {
  void await(@Observes StartupEvent start, Validation validation) {
    validation.check(new Patient().setActive(true), Optional.empty());
  }
}
