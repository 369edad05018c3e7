package org.tidemark.clinic;

import java.util.function.Supplier;

/**
 * The clinic that a thread works for. It is bound for the length of a request or of a piece of
 * work; a thread that none is bound to reaches no record, so that what forgot its clinic fails
 * instead of reading another's.
 */
public final class ActingClinic {
  private static final ThreadLocal<String> CURRENT = new ThreadLocal<>();

  private ActingClinic() {}

  /**
   * The clinic that this thread works for.
   *
   * @return its id
   * @throws IllegalStateException when none is bound
   */
  public static String current() {
    String clinic = CURRENT.get();
    if (clinic == null) {
      throw new IllegalStateException("no clinic is bound to the thread");
    }
    return clinic;
  }

  /**
   * Work for a clinic.
   *
   * @param <E> what it may throw
   * @param <F> what it may throw besides
   */
  public interface Work<E extends Exception, F extends Exception> {
    /** Does it. */
    void run() throws E, F;
  }

  /**
   * Works for a clinic. A thread that works for one does not change to another on the way: what is
   * bound to the transaction that runs belongs to the first.
   *
   * @param <E> what the work may throw
   * @param <F> what the work may throw besides
   * @param clinic its id
   * @throws IllegalStateException when the thread works for another clinic
   */
  public static <E extends Exception, F extends Exception> void during(
      String clinic, Work<E, F> work) throws E, F {
    boolean binds = bind(clinic);
    try {
      work.run();
    } finally {
      release(binds);
    }
  }

  /**
   * Works for a clinic and gives what comes of it.
   *
   * @param <T> what comes of it
   * @param clinic its id
   * @throws IllegalStateException when the thread works for another clinic
   */
  public static <T> T call(String clinic, Supplier<T> work) {
    boolean binds = bind(clinic);
    try {
      return work.get();
    } finally {
      release(binds);
    }
  }

  /** Binds a clinic, and says whether none was bound before. */
  private static boolean bind(String clinic) {
    String before = CURRENT.get();
    if (before != null && !before.equals(clinic)) {
      throw new IllegalStateException("the thread works for another clinic");
    }
    CURRENT.set(clinic);
    return before == null;
  }

  private static void release(boolean bound) {
    if (bound) {
      CURRENT.remove();
    }
  }
}
