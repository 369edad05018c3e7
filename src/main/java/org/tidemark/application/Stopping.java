package org.tidemark.application;

import io.quarkus.runtime.ShutdownEvent;
import io.quarkus.scheduler.FailedExecution;
import jakarta.enterprise.event.Observes;
import jakarta.inject.Singleton;
import java.time.Duration;
import java.util.Optional;
import java.util.concurrent.CountDownLatch;
import java.util.concurrent.TimeUnit;
import java.util.concurrent.locks.ReadWriteLock;
import java.util.concurrent.locks.ReentrantReadWriteLock;
import java.util.function.BooleanSupplier;
import java.util.function.Supplier;

/**
 * Whether the service stops. Work that the clock asks for begins nothing more then, and the stop
 * waits for the piece that is in work; what is left is taken up by another instance or after the
 * next start. It is asked to the very end, when the container has forgotten its beans and would
 * make a new one for a proxy: so it has none.
 */
@Singleton
public class Stopping {
  /** How long a stop waits for pieces that are in work, seconds: a paper takes one at the most. */
  public static final long PATIENCE_SECONDS = 10;

  private final ReadWriteLock inWork = new ReentrantReadWriteLock();
  private final CountDownLatch stop = new CountDownLatch(1);

  void begin(@Observes ShutdownEvent event) throws InterruptedException {
    stop.countDown();
    if (inWork.writeLock().tryLock(PATIENCE_SECONDS, TimeUnit.SECONDS)) {
      inWork.writeLock().unlock();
    }
  }

  public boolean begun() {
    return stop.getCount() == 0;
  }

  /**
   * Does a piece of work unless the service stops.
   *
   * @param piece the work, some seconds at the most, which tells whether more may be left
   * @return whether it was done and more may be left
   */
  public boolean unlessBegun(BooleanSupplier piece) {
    return claim(() -> Optional.of(piece.getAsBoolean())).orElse(false);
  }

  /**
   * Takes up a piece of work unless the service stops.
   *
   * @param <T> the piece of work
   * @param claim asks the database for one
   * @return what is to be done, if anything
   */
  public <T> Optional<T> claim(Supplier<Optional<T>> claim) {
    inWork.readLock().lock();
    try {
      return begun() ? Optional.empty() : claim.get();
    } finally {
      inWork.readLock().unlock();
    }
  }

  /** Rests within a piece of work; the stop ends the rest. */
  void rest(Duration most) {
    try {
      stop.await(most.toNanos(), TimeUnit.NANOSECONDS);
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
    }
  }

  /**
   * Logs why a piece of work failed, unless the stop has broken it off: a fault, or that the
   * database does not serve, for which the work comes again.
   *
   * @param failed what it ended with
   */
  public void log(Throwable failed) {
    if (!begun() && Faults.outage(failed).isEmpty()) {
      Faults.log(failed);
    }
  }

  void failed(@Observes FailedExecution scheduled) {
    log(scheduled.getException());
  }
}
