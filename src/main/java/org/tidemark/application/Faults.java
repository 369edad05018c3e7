package org.tidemark.application;

import java.util.Optional;
import java.util.UUID;
import org.jboss.logging.Logger;
import org.tidemark.fhir.Problem;
import org.tidemark.store.Outage;

/**
 * Logs what the service did wrong, under an id that the client is told. Only the kinds of the
 * errors and where they arose are written: the messages may quote a person's record.
 */
public final class Faults {
  private static final Logger LOG = Logger.getLogger(Faults.class);

  private Faults() {}

  /**
   * What the client is told when the database did not serve; it is logged, too.
   *
   * @param error what went wrong
   * @return the problem, or empty when it is about something else
   */
  public static Optional<Problem> outage(Throwable error) {
    if (!Outage.isOutage(error)) {
      return Optional.empty();
    }
    LOG.warnf("the database does not serve: %s", error.getClass().getName());
    return Optional.of(
        Problem.of(
            Problem.Kind.UNAVAILABLE,
            "The database does not serve at the moment. Whether a write was stored is not certain;"
                + " nothing was stored in part."));
  }

  /**
   * Logs a fault.
   *
   * @param error what went wrong
   * @return the id of the log entry
   */
  public static String log(Throwable error) {
    String id = UUID.randomUUID().toString();
    StringBuilder trace = new StringBuilder();
    for (Throwable at = error; at != null && at != at.getCause(); at = at.getCause()) {
      trace.append("\n").append(at.getClass().getName());
      for (StackTraceElement frame : at.getStackTrace()) {
        trace.append("\n    at ").append(frame);
      }
    }
    LOG.errorf("fault %s:%s", id, trace);
    return id;
  }
}
