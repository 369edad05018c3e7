package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.scheduler.Scheduled;
import jakarta.enterprise.context.ApplicationScoped;
import java.time.Clock;
import java.time.Duration;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.concurrent.locks.LockSupport;
import java.util.function.BooleanSupplier;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.tidemark.clinic.Clinics;
import org.tidemark.store.ExportStore;
import org.tidemark.store.ExportStore.File;
import org.tidemark.store.ExportStore.Job;
import org.tidemark.store.ExportStore.Slice;
import org.tidemark.store.ExportStore.Snapshot;
import org.tidemark.store.LostRace;
import org.tidemark.store.Query;
import org.tidemark.store.ResourceStore;

/**
 * Divides exports into files, in the background. Each file is noted in a transaction with how far
 * the export has come, so that another process goes on where one has ended.
 *
 * <p>A record is stamped before its transaction is over. So what was being written when an export
 * was asked for is waited for: nothing that carries an earlier time can appear afterwards.
 */
@ApplicationScoped
public class Dividing {
  /** A write is stamped at the most so long before its transaction is seen to write. */
  private static final Duration SETTLED = Duration.ofSeconds(1);

  /** Longer than any transaction of the service may take. */
  private static final Duration LONGEST = Duration.ofSeconds(330);

  /** After every id. */
  private static final String BEYOND_ALL = "~";

  /** What a search finds is not counted: it may be less when it is fetched. */
  private static final int UNKNOWN = -1;

  private static final Duration LEASE = Duration.ofMinutes(2);
  private static final long PAUSE_NS = 50_000_000;

  private final ExportStore store;
  private final ResourceStore resources;
  private final Exports exports;
  private final Stopping stopping;
  private final Clock clock;
  private final Clinics clinics;
  private final int fileRecords;

  Dividing(
      ExportStore store,
      ResourceStore resources,
      Exports exports,
      Stopping stopping,
      Clock clock,
      Clinics clinics,
      @ConfigProperty(name = "tidemark.export.file-records") int fileRecords) {
    this.store = store;
    this.resources = resources;
    this.exports = exports;
    this.stopping = stopping;
    this.clock = clock;
    this.clinics = clinics;
    this.fileRecords = fileRecords;
  }

  /** Divides the exports that wait for it, and forgets those that have ended. */
  @Scheduled(
      every = "{tidemark.export.every}",
      concurrentExecution = Scheduled.ConcurrentExecution.SKIP)
  public void divide() {
    clinics.each(this::forget);
    clinics.inTurns(this::next);
  }

  private void forget() {
    attempt(
        () ->
            stopping.unlessBegun(
                () -> {
                  QuarkusTransaction.requiringNew()
                      .run(() -> store.ended(clock.millis()).forEach(store::drop));
                  return true;
                }));
  }

  /** Divides one export, and says whether there was one. */
  private boolean next() {
    return attempt(
        () -> {
          Optional<Job> next = stopping.claim(this::claim);
          next.ifPresent(this::divide);
          return next.isPresent();
        });
  }

  /** Does a piece of work, which says whether there was any; false when it failed. */
  private boolean attempt(BooleanSupplier work) {
    try {
      return work.getAsBoolean();
    } catch (LostRace cancelled) {
      // Nothing is left to do for it; the next round looks for others.
    } catch (RuntimeException failed) {
      stopping.log(failed);
    }
    return false;
  }

  private Optional<Job> claim() {
    long now = clock.millis();
    return QuarkusTransaction.requiringNew()
        .call(() -> store.claim(now - SETTLED.toMillis(), now, now + LEASE.toMillis()));
  }

  private void divide(Job claimed) {
    awaitWriters(claimed);
    Job job = claimed;
    while (job.typeIndex() != ExportStore.DIVIDED) {
      Job from = job;
      job = QuarkusTransaction.requiringNew().call(() -> next(from));
    }
  }

  private void awaitWriters(Job job) {
    long until = job.atMs() + LONGEST.toMillis();
    Set<String> writing = QuarkusTransaction.requiringNew().call(store::writers);
    while (!writing.isEmpty() && clock.millis() < until) {
      LockSupport.parkNanos(PAUSE_NS);
      writing.retainAll(QuarkusTransaction.requiringNew().call(store::writers));
      QuarkusTransaction.requiringNew()
          .run(() -> store.hold(job.id(), clock.millis() + LEASE.toMillis()));
    }
  }

  /** How many steps an export takes: its types, and their deletions when it is about changes. */
  static int steps(Job job) {
    return job.types().size() * (job.sinceMs() == Long.MIN_VALUE ? 1 : 2);
  }

  private Job next(Job job) {
    int number = job.types().size();
    boolean deleted = job.typeIndex() >= number;
    String type = job.types().get(job.typeIndex() % number);
    Optional<Slice> slice = slice(job, type, deleted);
    slice.ifPresent(
        found ->
            store.add(
                job.id(),
                new File(
                    job.files() + 1,
                    type,
                    deleted,
                    job.reachedId(),
                    found.lastId(),
                    found.records())));
    boolean more = slice.filter(found -> found.records() == fileRecords).isPresent();
    int step = more ? job.typeIndex() : job.typeIndex() + 1;
    Job next =
        job.moved(
            step == steps(job) ? ExportStore.DIVIDED : step,
            more ? slice.get().lastId() : "",
            job.files() + (slice.isPresent() ? 1 : 0));
    store.advance(job, next, clock.millis() + LEASE.toMillis());
    return next;
  }

  private Optional<Slice> slice(Job job, String type, boolean deleted) {
    List<Query.Criterion> filter = exports.filter(job, type);
    if (filter.isEmpty()) {
      Snapshot of = exports.snapshot(job, type);
      return store.slice(of, deleted, job.reachedId(), fileRecords);
    }
    boolean any = !deleted && !resources.search(Query.byId(type, filter, 1)).isEmpty();
    return any ? Optional.of(new Slice(BEYOND_ALL, UNKNOWN)) : Optional.empty();
  }
}
