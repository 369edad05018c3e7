package org.tidemark.application;

import io.micrometer.core.instrument.MeterRegistry;
import io.quarkus.runtime.StartupEvent;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import jakarta.enterprise.event.TransactionPhase;
import java.util.Arrays;
import org.tidemark.decision.Verdict;

/** Counts decisions by their verdict, once they are committed. */
@ApplicationScoped
class DecisionCount {
  private final MeterRegistry meters;

  DecisionCount(MeterRegistry meters) {
    this.meters = meters;
  }

  /** From the start there is a figure for each, so that the first one is seen as a rise. */
  void begin(@Observes StartupEvent start) {
    Arrays.stream(Verdict.values()).forEach(verdict -> add(verdict, 0));
  }

  void committed(@Observes(during = TransactionPhase.AFTER_SUCCESS) Verdict decided) {
    add(decided, 1);
  }

  private void add(Verdict verdict, int amount) {
    meters.counter("tidemark.decisions", "verdict", verdict.code()).increment(amount);
  }
}
