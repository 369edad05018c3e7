package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import org.hibernate.StatelessSession;
import org.tidemark.clinic.ActingClinic;

/** Counts what waits for the workers. Every method joins the caller's transaction. */
@ApplicationScoped
public class FigureStore {
  private final StatelessSession session;

  FigureStore(StatelessSession session) {
    this.session = session;
  }

  /**
   * What waits of one kind.
   *
   * @param count how much
   * @param oldestMs since when the oldest has waited, ms since 1970 UTC; {@link Long#MAX_VALUE} for
   *     none
   */
  public record Waiting(long count, long oldestMs) {
    /** Nothing. */
    public static final Waiting NONE = new Waiting(0, Long.MAX_VALUE);

    /** Both together. */
    public Waiting and(Waiting other) {
      return new Waiting(count + other.count, Math.min(oldestMs, other.oldestMs));
    }
  }

  /** Events that an active subscription has not delivered. */
  public Waiting notifications() {
    return waiting(
        "select count(*) as n, min(e.occurred_ms) as since from subscription_state s"
            + " join subscription_event e on e.clinic = s.clinic"
            + " and e.subscription_id = s.subscription_id and e.delivered = false"
            + " where s.clinic = :clinic and s.status in ('requested', 'active')");
  }

  /** Subscriptions that were given up on, until their client makes them active again. */
  public Waiting subscriptionsInError() {
    return waiting(
        "select count(*) as n, min(due_ms) as since from subscription_state"
            + " where clinic = :clinic and status = 'error'");
  }

  /** Plans whose papers are to be written anew. */
  public Waiting papers() {
    return waiting(
        "select count(*) as n, min(marked_ms) as since from paper_due where clinic = :clinic");
  }

  /** Plans that are to be written to the record system. */
  public Waiting writeBacks() {
    return waiting(
        "select count(*) as n, min(waiting_ms) as since from write_back"
            + " where clinic = :clinic and waiting_ms > 0");
  }

  /** What is audited and has no place in the chain yet. */
  public Waiting audit() {
    return waiting(
        "select count(*) as n, min(recorded_ms) as since from audit_inbox where clinic = :clinic");
  }

  /** Exports that are not divided into files yet. */
  public Waiting exports() {
    return waiting(
        "select count(*) as n, min(at_ms) as since from export_job"
            + " where clinic = :clinic and type_index <> "
            + ExportStore.DIVIDED);
  }

  private Waiting waiting(String statement) {
    Object[] row =
        session
            .createNativeQuery(statement, Object[].class)
            .addScalar("n", Long.class)
            .addScalar("since", Long.class)
            .setParameter("clinic", ActingClinic.current())
            .getSingleResult();
    return new Waiting((Long) row[0], row[1] == null ? Long.MAX_VALUE : (Long) row[1]);
  }
}
