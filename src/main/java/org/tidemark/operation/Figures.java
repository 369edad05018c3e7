package org.tidemark.operation;

import io.micrometer.core.instrument.Gauge;
import io.micrometer.core.instrument.MeterRegistry;
import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.runtime.StartupEvent;
import io.quarkus.scheduler.Scheduled;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.time.Clock;
import java.util.LinkedHashMap;
import java.util.Map;
import java.util.concurrent.ConcurrentHashMap;
import java.util.function.Supplier;
import org.tidemark.clinic.Clinics;
import org.tidemark.store.FigureStore;
import org.tidemark.store.FigureStore.Waiting;

/**
 * How much waits for the workers and for how long, of all clinics together. It is counted now and
 * then and kept, so that whoever fetches the figures never waits for the database; while it cannot
 * be counted there is no figure ({@code NaN}). Instances on one database tell the same.
 */
@ApplicationScoped
class Figures {
  private final Clinics clinics;
  private final Clock clock;
  private final MeterRegistry meters;
  private final Map<String, Supplier<Waiting>> kinds = new LinkedHashMap<>();
  private final Map<String, Waiting> counted = new ConcurrentHashMap<>();

  Figures(FigureStore store, Clinics clinics, Clock clock, MeterRegistry meters) {
    this.clinics = clinics;
    this.clock = clock;
    this.meters = meters;
    kinds.put("notifications", store::notifications);
    kinds.put("subscriptions.error", store::subscriptionsInError);
    kinds.put("papers", store::papers);
    kinds.put("write.back", store::writeBacks);
    kinds.put("audit", store::audit);
    kinds.put("exports", store::exports);
  }

  void begin(@Observes StartupEvent start) {
    for (String kind : kinds.keySet()) {
      Gauge.builder("tidemark." + kind + ".waiting", () -> count(kind)).register(meters);
      Gauge.builder("tidemark." + kind + ".oldest.age", () -> ageSeconds(kind))
          .baseUnit("seconds")
          .register(meters);
    }
  }

  private double count(String kind) {
    Waiting waiting = counted.get(kind);
    return waiting == null ? Double.NaN : waiting.count();
  }

  private double ageSeconds(String kind) {
    Waiting waiting = counted.get(kind);
    if (waiting == null) {
      return Double.NaN;
    }
    return waiting.count() == 0 ? 0 : Math.max(0, clock.millis() - waiting.oldestMs()) / 1000.0;
  }

  @Scheduled(
      every = "{tidemark.figures-every}",
      concurrentExecution = Scheduled.ConcurrentExecution.SKIP)
  void count() {
    Map<String, Waiting> all = new LinkedHashMap<>();
    try {
      clinics.each(
          () ->
              QuarkusTransaction.requiringNew()
                  .run(
                      () ->
                          kinds.forEach(
                              (kind, waiting) -> all.merge(kind, waiting.get(), Waiting::and))));
    } catch (RuntimeException e) {
      counted.clear();
      throw e;
    }
    counted.putAll(all);
  }
}
