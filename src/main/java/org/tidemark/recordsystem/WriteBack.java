package org.tidemark.recordsystem;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.scheduler.Scheduled;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.time.Clock;
import java.time.Duration;
import java.util.Map;
import java.util.Optional;
import java.util.concurrent.ConcurrentHashMap;
import java.util.concurrent.ThreadLocalRandom;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.tidemark.application.PlanWritten;
import org.tidemark.application.Records;
import org.tidemark.application.Stopping;
import org.tidemark.clinic.Clinics;
import org.tidemark.fhir.References;
import org.tidemark.store.WriteBackStore;
import org.tidemark.store.WriteBackStore.Claimed;

/**
 * Keeps the plans of a clinic in its record system, where that is asked for. A plan is marked in
 * the transaction that changes it, and written there soon after; one instance at a time writes a
 * plan. What fails is tried again after a pause that doubles.
 */
@ApplicationScoped
public class WriteBack {
  /** What a request takes at the most besides two answers of the record system: two tokens. */
  private static final Duration MARGIN = Duration.ofMinutes(1);

  private static final Duration LONGEST_PAUSE = Duration.ofHours(1);
  private static final int MOST_DOUBLINGS = 16;

  private final RecordSystems systems;
  private final RecordSystemClient client;
  private final WriteBackStore store;
  private final Records records;
  private final References references;
  private final Clinics clinics;
  private final Stopping stopping;
  private final Clock clock;
  private final FhirContext context;
  private final Duration pause;

  /** Taken anew before each request. */
  private final Duration lease;

  private final Duration look;
  private final Map<String, Long> resting = new ConcurrentHashMap<>();
  private final Map<String, Statement> statements = new ConcurrentHashMap<>();

  WriteBack(
      RecordSystems systems,
      RecordSystemClient client,
      WriteBackStore store,
      Records records,
      References references,
      Clinics clinics,
      Stopping stopping,
      Clock clock,
      FhirContext context,
      @ConfigProperty(name = "tidemark.record-system.patience") Duration patience,
      @ConfigProperty(name = "tidemark.record-system.write-back.pause") Duration pause,
      @ConfigProperty(name = "tidemark.record-system.write-back.look") Duration look) {
    this.systems = systems;
    this.client = client;
    this.store = store;
    this.records = records;
    this.references = references;
    this.clinics = clinics;
    this.stopping = stopping;
    this.clock = clock;
    this.context = context;
    this.pause = pause;
    this.lease = patience.multipliedBy(2).plus(MARGIN);
    this.look = look;
  }

  void mark(@Observes PlanWritten written) {
    system()
        .ifPresent(
            system ->
                written
                    .subjects()
                    .forEach(subject -> store.mark(system.source(), subject, clock.millis())));
  }

  /** The record system that the clinic's plans are written to. */
  Optional<RecordSystem> system() {
    return systems.find().filter(RecordSystem::isWrittenTo);
  }

  /** Writes the plans that wait, in turns; several instances share them. */
  @Scheduled(
      every = "{tidemark.record-system.write-back.every}",
      concurrentExecution = Scheduled.ConcurrentExecution.SKIP)
  public void write() {
    statements.clear();
    clinics.inTurns(() -> system().map(this::next).orElse(false));
  }

  /** Writes one plan, and says whether there was one. */
  private boolean next(RecordSystem system) {
    long now = clock.millis();
    if (resting.getOrDefault(system.source(), 0L) > now) {
      return false;
    }
    Optional<Claimed> claimed =
        stopping.claim(
            () ->
                QuarkusTransaction.requiringNew()
                    .call(() -> store.claim(system.source(), now, now + lease.toMillis())));
    claimed.ifPresent(plan -> write(system, plan));
    return claimed.isPresent();
  }

  private void write(RecordSystem system, Claimed plan) {
    try {
      boolean open =
          new Attempt(
                  system,
                  client,
                  records,
                  store,
                  context,
                  references,
                  plan.planId(),
                  () -> hold(system, plan))
              .run(statement(system));
      long next = open ? clock.millis() + around(look.toMillis()) : WriteBackStore.NEVER;
      QuarkusTransaction.requiringNew().run(() -> store.done(system.source(), plan, next));
    } catch (RecordSystemProblem problem) {
      if (problem.isDown()) {
        resting.put(system.source(), clock.millis() + pause.toMillis());
      }
      failed(system, plan, problem.getMessage());
    } catch (RuntimeException failed) {
      stopping.log(failed);
      failed(system, plan, "What is here could not be put into words; the log says why.");
    }
  }

  /** What the record system can do, asked once for all the plans that are written in a row. */
  private Statement statement(RecordSystem system) throws RecordSystemProblem {
    Statement known = statements.get(system.source());
    if (known == null) {
      known = client.statement(system);
      statements.put(system.source(), known);
    }
    return known;
  }

  private void hold(RecordSystem system, Claimed plan) {
    long until = clock.millis() + lease.toMillis();
    QuarkusTransaction.requiringNew().run(() -> store.hold(system.source(), plan.planId(), until));
  }

  private void failed(RecordSystem system, Claimed plan, String problem) {
    double doubled = pause.toMillis() * Math.pow(2, Math.min(plan.failures(), MOST_DOUBLINGS));
    long next = clock.millis() + around((long) Math.min(doubled, LONGEST_PAUSE.toMillis()));
    QuarkusTransaction.requiringNew().run(() -> store.failed(system.source(), plan, problem, next));
  }

  private static long around(long ms) {
    return (long) (ms * ThreadLocalRandom.current().nextDouble(0.8, 1.2));
  }
}
