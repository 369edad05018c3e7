package org.tidemark.store;

import java.sql.SQLException;
import java.sql.SQLNonTransientException;
import java.util.Collections;
import java.util.IdentityHashMap;
import java.util.List;
import java.util.Set;
import org.h2.mvstore.MVStoreException;

/** Tells an error of a database that does not serve from one of the statement that met it. */
public final class Outage {
  /** What SQL calls an error of reading or writing a file. */
  static final String IO_ERROR = "58030";

  /**
   * Classes of SQL's states: no connection, no space or other means, stopped by an operator or
   * after a crash, and an error of the system below.
   */
  private static final List<String> CLASSES = List.of("08", "53", "57P", "58");

  /**
   * H2's own states: an object or the database is closed, a file cannot be read or written or is
   * damaged, a connection is broken, the process stops.
   */
  private static final Set<String> H2 =
      Set.of("90007", "90028", "90030", "90031", "90067", "90098", "90121");

  private static final String POOL = "io.agroal.";

  private Outage() {}

  /**
   * Whether this error, or one that caused it, says that the database does not serve. What a commit
   * that ended so wrote may be there or not.
   *
   * @param error an error from the store or from a commit
   * @return true when the same request may do later
   */
  public static boolean isOutage(Throwable error) {
    return isOutage(error, Collections.newSetFromMap(new IdentityHashMap<>()));
  }

  /** A transaction's end tells the errors of its commit as suppressed ones. */
  private static boolean isOutage(Throwable error, Set<Throwable> seen) {
    if (error == null || !seen.add(error)) {
      return false;
    }
    return error instanceof MVStoreException
        || (error instanceof SQLException sql && saysSo(sql))
        || isOutage(error.getCause(), seen)
        || List.of(error.getSuppressed()).stream().anyMatch(other -> isOutage(other, seen));
  }

  private static boolean saysSo(SQLException error) {
    String state = error.getSQLState();
    return state == null
        ? isOfThePool(error)
        : H2.contains(state) || CLASSES.stream().anyMatch(state::startsWith);
  }

  /** No connection in time, or none any more. */
  private static boolean isOfThePool(SQLException error) {
    StackTraceElement[] trace = error.getStackTrace();
    return trace.length > 0 && trace[0].getClassName().startsWith(POOL);
  }

  /** The error of a commit that did not reach the disk. */
  static SQLException ofCommit(MVStoreException failure) {
    return new SQLNonTransientException("the commit did not reach the disk", IO_ERROR, failure);
  }
}
