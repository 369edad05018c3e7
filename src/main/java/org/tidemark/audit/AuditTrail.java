package org.tidemark.audit;

import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.runtime.ShutdownEvent;
import io.quarkus.runtime.StartupEvent;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.time.Clock;
import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
import java.util.concurrent.ArrayBlockingQueue;
import java.util.concurrent.BlockingQueue;
import java.util.concurrent.CountDownLatch;
import java.util.concurrent.TimeUnit;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.jboss.logging.Logger;
import org.tidemark.store.AuditEntry;
import org.tidemark.store.AuditStore;
import org.tidemark.store.LostRace;

/**
 * Keeps what requests did.
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

  /** How many entries may wait. */
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
  private final BlockingQueue<AuditEntry> queue = new ArrayBlockingQueue<>(QUEUED);
  private final CountDownLatch stopping = new CountDownLatch(1);
  private final Thread worker = new Thread(this::work, "audit");

  /** What was taken from the queue and is not in the database yet. Guarded by this object. */
  private final List<AuditEntry> taken = new ArrayList<>();

  private long nextRemovalMs;

  AuditTrail(
      AuditStore store,
      Clock clock,
      @ConfigProperty(name = "tidemark.audit") String setting,
      @ConfigProperty(name = "tidemark.audit.retention-days") int retentionDays) {
    if (!setting.equals("on") && !setting.equals("off")) {
      throw new IllegalArgumentException("tidemark.audit is on or off");
    }
    this.store = store;
    this.clock = clock;
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
      catchUp();
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
        queue.put(entry);
      } catch (InterruptedException e) {
        Thread.currentThread().interrupt();
        throw new IllegalStateException("interrupted before the request was audited", e);
      }
    }
    if (stopping.getCount() == 0) {
      catchUp();
    }
  }

  /** Returns when all that has been taken before is in the chain. */
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
    try {
      catchUp();
      removeOld();
    } catch (RuntimeException e) {
      LOG.errorf("the audit trail cannot be written: %s", e.getClass().getName());
    }
  }

  /** Chains a part of what waits, and says whether there may be more. */
  private synchronized boolean chain() {
    queue.drainTo(taken, AT_ONCE - taken.size());
    boolean idle = taken.isEmpty() && !QuarkusTransaction.requiringNew().call(store::isWaiting);
    if (idle) {
      return false;
    }
    int waiting = QuarkusTransaction.requiringNew().call(() -> store.chain(taken, AT_ONCE));
    boolean more = waiting == AT_ONCE || taken.size() == AT_ONCE;
    taken.clear();
    return more;
  }

  /** Removes what is older than it must be, and notes that. */
  private void removeOld() {
    long now = clock.millis();
    if (retentionDays == 0 || now < nextRemovalMs) {
      return;
    }
    nextRemovalMs = now + BETWEEN_REMOVALS.toMillis();
    removeBefore(now - Duration.ofDays(retentionDays).toMillis());
  }

  /**
   * Removes entries whose time is over, and notes that.
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
