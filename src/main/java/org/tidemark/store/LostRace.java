package org.tidemark.store;

import java.sql.SQLException;
import java.util.Set;

/**
 * Another writer was first: the record has moved on, or the key is taken. Nothing of the
 * transaction may be kept; the caller reads again and decides anew.
 */
public final class LostRace extends RuntimeException {
  private static final long serialVersionUID = 1L;

  /**
   * States of SQL that say so: unique key, serialisation, deadlock, lock not free in time, and H2's
   * concurrent update of a row.
   */
  private static final Set<String> STATES =
      Set.of("23505", "40001", "40P01", "55P03", "HYT00", "90131");

  /**
   * A race that the store saw itself.
   *
   * @param what the key that was lost, without content
   */
  public LostRace(String what) {
    super(what);
  }

  /**
   * Whether this error, or one that caused it, is a lost race.
   *
   * @param error an error from the store or from a commit
   * @return true when trying the whole transaction again is right
   */
  public static boolean isLostRace(Throwable error) {
    for (Throwable at = error; at != null; at = at.getCause()) {
      if (at instanceof LostRace || (at instanceof SQLException sql && saysSo(sql))) {
        return true;
      }
      if (at == at.getCause()) {
        return false;
      }
    }
    return false;
  }

  /** The pool tells of a connection that was not free in time without a state. */
  private static boolean saysSo(SQLException error) {
    return error.getSQLState() != null && STATES.contains(error.getSQLState());
  }
}
