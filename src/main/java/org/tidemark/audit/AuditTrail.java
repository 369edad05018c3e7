package org.tidemark.audit;

import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.runtime.ShutdownEvent;
import io.quarkus.runtime.StartupEvent;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.time.Clock;
import java.time.Duration;
import java.util.ArrayList;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.concurrent.ArrayBlockingQueue;
import java.util.concurrent.BlockingQueue;
import java.util.concurrent.CountDownLatch;
import java.util.concurrent.TimeUnit;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.jboss.logging.Logger;
import org.tidemark.clinic.ActingClinic;
import org.tidemark.clinic.Clinics;
import org.tidemark.store.AuditEntry;
import org.tidemark.store.AuditStore;
import org.tidemark.store.LostRace;
import org.tidemark.store.Outage;

/**
 * Keeps what requests did, in a trail for each clinic.
 *
 * <p>What a transaction of a request did is kept by that transaction ({@link #keep}): it is audited
 * if and only if it happened. What only looked, and what was refused, waits in a queue until a
 * thread of this instance has written it, a second later at the most; a crash loses what waits. A
 * full queue holds requests up. The same thread gives all entries their places in the chain, under
 * a lock that all instances share, so that no request waits for another's place.
 */
@ApplicationScoped
public class AuditTrail {
  private static final Logger LOG = Logger.getLogger(AuditTrail.class);

  /** How many entries of a clinic may wait. */
  private static final int QUEUED = 8192;

  /** So many are chained in one transaction. */
  private static final int AT_ONCE = 2048;

  /** Each pass commits, and on the embedded database reads wait for a commit. */
  private static final Duration PAUSE = Duration.ofSeconds(1);

  private static final Duration BETWEEN_REMOVALS = Duration.ofHours(1);

  private final AuditStore store;
  private final Clock clock;
  private final boolean on;
  private final int retentionDays;
  private final Clinics clinics;
  private final Map<String, Lane> lanes = new HashMap<>();
  private final CountDownLatch stopping = new CountDownLatch(1);
  private final Thread worker = new Thread(this::work, "audit");

  private long nextRemovalMs;

  /** What waits to go into the trail of one clinic. */
  private static final class Lane {
    private final BlockingQueue<AuditEntry> queue = new ArrayBlockingQueue<>(QUEUED);

    /** What was taken from the queue and is not in the database yet. Guarded by the lane. */
    private final List<AuditEntry> taken = new ArrayList<>();
  }

  AuditTrail(
      AuditStore store,
      Clock clock,
      Clinics clinics,
      @ConfigProperty(name = "tidemark.audit") String setting,
      @ConfigProperty(name = "tidemark.audit.retention-days") int retentionDays) {
    if (!setting.equals("on") && !setting.equals("off")) {
      throw new IllegalArgumentException("tidemark.audit is on or off");
    }
    this.store = store;
    this.clock = clock;
    this.clinics = clinics;
    clinics.all().forEach(clinic -> lanes.put(clinic.id(), new Lane()));
    this.on = setting.equals("on");
    this.retentionDays = retentionDays;
  }

  void start(@Observes StartupEvent event) {
    if (on) {
      worker.setDaemon(true);
      worker.start();
    } else {
      LOG.warn("Nobody's doings are recorded: tidemark.audit=off.");
    }
  }

  void stop(@Observes ShutdownEvent event) throws InterruptedException {
    if (on) {
      stopping.countDown();
      worker.join();
      catchUpAll();
    }
  }

  /** Whether what requests do is kept. */
  public boolean isOn() {
    return on;
  }

  /** What the request has noted so far, to come back to by {@link #keep} and {@link #forget}. */
  public int mark() {
    return Visit.mark();
  }

  /** Keeps what was noted since a mark, if the transaction that runs is committed. */
  public void keep(int mark) {
    List<AuditEntry> noted = Visit.since(mark);
    if (!noted.isEmpty()) {
      store.add(noted);
    }
  }

  /** The transaction was committed: what was noted since a mark is kept. */
  public void kept(int mark) {
    Visit.kept(mark);
  }

  /** The transaction was undone: what was noted since a mark did not happen. */
  public void forget(int mark) {
    Visit.forget(mark);
  }

  /**
   * Takes what a request did and no transaction has kept, before the answer goes out.
   *
   * @param status the status of the answer
   */
  public void end(Visit visit, int status) {
    for (AuditEntry entry : visit.rest(status)) {
      try {
        lanes.get(visit.clinic()).queue.put(entry);
      } catch (InterruptedException e) {
        Thread.currentThread().interrupt();
        throw new IllegalStateException("interrupted before the request was audited", e);
      }
    }
    if (stopping.getCount() == 0) {
      ActingClinic.during(visit.clinic(), this::catchUp);
    }
  }

  /** Returns when all that has been taken before is in the chains. */
  public void catchUpAll() {
    clinics.each(this::catchUp);
  }

  /** Returns when all of the acting clinic that has been taken before is in its chain. */
  public void catchUp() {
    for (boolean more = true; more; ) {
      try {
        more = chain();
      } catch (RuntimeException e) {
        if (!LostRace.isLostRace(e)) {
          throw e;
        }
      }
    }
  }

  private void work() {
    try {
      while (!stopping.await(PAUSE.toMillis(), TimeUnit.MILLISECONDS)) {
        pass();
      }
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
    }
  }

  /** What could not be written is written with the next pass. */
  private void pass() {
    clinics.each(() -> attempt(this::catchUp));
    attempt(this::removeOld);
  }

  private static void attempt(Runnable work) {
    try {
      work.run();
    } catch (RuntimeException e) {
      LOG.logf(
          Outage.isOutage(e) ? Logger.Level.WARN : Logger.Level.ERROR,
          "the audit trail cannot be written: %s",
          e.getClass().getName());
    }
  }

  /** Chains a part of what waits, and says whether there may be more. */
  private boolean chain() {
    Lane lane = lanes.get(ActingClinic.current());
    synchronized (lane) {
      List<AuditEntry> taken = lane.taken;
      lane.queue.drainTo(taken, AT_ONCE - taken.size());
      boolean idle = taken.isEmpty() && !QuarkusTransaction.requiringNew().call(store::isWaiting);
      if (idle) {
        return false;
      }
      int waiting = QuarkusTransaction.requiringNew().call(() -> store.chain(taken, AT_ONCE));
      boolean more = waiting == AT_ONCE || taken.size() == AT_ONCE;
      taken.clear();
      return more;
    }
  }

  /** Removes what is older than it must be, and notes that. */
  private void removeOld() {
    long now = clock.millis();
    if (retentionDays == 0 || now < nextRemovalMs) {
      return;
    }
    nextRemovalMs = now + BETWEEN_REMOVALS.toMillis();
    clinics.each(() -> removeBefore(now - Duration.ofDays(retentionDays).toMillis()));
  }

  /**
   * Removes entries of the acting clinic whose time is over, and notes that.
   *
   * @param beforeMs those recorded before, ms since 1970 UTC
   */
  void removeBefore(long beforeMs) {
    int removed = 0;
    int last;
    do {
      last = QuarkusTransaction.requiringNew().call(() -> store.remove(beforeMs, AT_ONCE));
      removed += last;
    } while (last > 0);
    if (removed > 0) {
      Interaction what = Interaction.RETENTION;
      String said = "%d entries removed".formatted(removed);
      AuditEntry entry =
          new AuditEntry(
              clock.millis(), what.code(), what.action(), "0", 0, "", "", "", "", "", 0, "", said);
      QuarkusTransaction.requiringNew().run(() -> store.add(List.of(entry)));
    }
  }
}
