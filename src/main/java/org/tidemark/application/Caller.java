package org.tidemark.application;

import java.util.Optional;
import org.tidemark.access.Action;
import org.tidemark.access.Grants;
import org.tidemark.access.Reach;

/**
 * On whose behalf a thread works. A thread that no request is bound to works for the service
 * itself, such as the daily sweep, and reaches everything.
 */
public final class Caller {
  private static final Caller SERVICE = new Caller(Optional.empty());
  private static final ThreadLocal<Caller> CURRENT = ThreadLocal.withInitial(() -> SERVICE);

  private final Optional<Grants> grants;

  private Caller(Optional<Grants> grants) {
    this.grants = grants;
  }

  /** Anyone who reaches the port, where access is open. */
  public static Caller anyone() {
    return new Caller(Optional.empty());
  }

  /** Someone with a token. */
  public static Caller with(Grants grants) {
    return new Caller(Optional.of(grants));
  }

  /** Someone without a token, who reads no record. */
  public static Caller nobody() {
    return with(Grants.NONE);
  }

  /** For whom this thread works. */
  static Caller current() {
    return CURRENT.get();
  }

  /**
   * Work for a caller.
   *
   * @param <E> what it may throw
   * @param <F> what it may throw besides
   */
  public interface Work<E extends Exception, F extends Exception> {
    /** Does it. */
    void run() throws E, F;
  }

  /**
   * Works for this caller, and afterwards for whom it was before.
   *
   * @param <E> what the work may throw
   * @param <F> what the work may throw besides
   */
  public <E extends Exception, F extends Exception> void during(Work<E, F> work) throws E, F {
    Caller before = CURRENT.get();
    CURRENT.set(this);
    try {
      work.run();
    } finally {
      if (before == SERVICE) {
        CURRENT.remove();
      } else {
        CURRENT.set(before);
      }
    }
  }

  /** Which records of a type this caller reaches by an action. */
  Reach reach(Action action, String type) {
    return grants.map(known -> known.reach(action, type)).orElse(Reach.EVERYTHING);
  }

  /** What the token of this caller grants; empty where none is needed. */
  public Optional<Grants> grants() {
    return grants;
  }

  /** Whether this caller may learn that a person is here. */
  boolean knows(String subject) {
    return grants.map(known -> known.knows(subject)).orElse(true);
  }
}
