package org.tidemark.application;

import java.util.Optional;
import org.tidemark.access.Action;
import org.tidemark.access.Grants;
import org.tidemark.access.Reach;
import org.tidemark.clinic.ActingClinic;
import org.tidemark.clinic.Clinic;

/**
 * On whose behalf a thread works, and for which clinic. A thread that no request is bound to works
 * for the service itself, such as the daily sweep, and reaches everything of the clinic that it has
 * taken up, see {@link org.tidemark.clinic.ActingClinic}.
 */
public final class Caller {
  private static final Caller SERVICE = new Caller(Optional.empty(), Optional.empty());
  private static final ThreadLocal<Caller> CURRENT = ThreadLocal.withInitial(() -> SERVICE);

  private final Optional<Grants> grants;
  private final Optional<Clinic> clinic;

  private Caller(Optional<Grants> grants, Optional<Clinic> clinic) {
    this.grants = grants;
    this.clinic = clinic;
  }

  /** Anyone who reaches the port, where access is open. */
  public static Caller anyone(Clinic clinic) {
    return new Caller(Optional.empty(), Optional.of(clinic));
  }

  /** Someone with a token, which names the clinic. */
  public static Caller with(Grants grants, Clinic clinic) {
    return new Caller(Optional.of(grants), Optional.of(clinic));
  }

  /** Someone without a token, who reads no record. */
  public static Caller nobody(Clinic clinic) {
    return with(Grants.NONE, clinic);
  }

  /** The clinic that is acted for. */
  public Clinic clinic() {
    return clinic.orElseThrow(() -> new IllegalStateException("the service has no clinic itself"));
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
      ActingClinic.<E, F>during(clinic().id(), work::run);
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
