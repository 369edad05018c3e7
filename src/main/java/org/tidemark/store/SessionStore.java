package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.Optional;
import org.hibernate.StatelessSession;
import org.hibernate.query.MutationQuery;
import org.tidemark.clinic.ActingClinic;

/** Keeps who has signed in on the pages. Every method joins the caller's transaction. */
@ApplicationScoped
public class SessionStore {
  private static final String ONE = " where clinic = :clinic and session_id = :id";

  private final StatelessSession session;

  SessionStore(StatelessSession session) {
    this.session = session;
  }

  /**
   * A session that is kept.
   *
   * @param sealed what only the browser's secret opens
   * @param renewals how often it was renewed
   * @param renewingUntilMs until when somebody renews it, ms since 1970 UTC; 0 for nobody
   */
  public record Row(String sealed, int renewals, long renewingUntilMs) {}

  /** Keeps a new session, and forgets those that have ended. */
  public void add(String id, String sealed, long endsMs, long nowMs) {
    change("delete from page_session where clinic = :clinic and ends_ms < :now")
        .setParameter("now", nowMs)
        .executeUpdate();
    change(
            "insert into page_session (clinic, session_id, sealed, renewals, renewing_until_ms,"
                + " ends_ms) values (:clinic, :id, :sealed, 0, 0, :ends)")
        .setParameter("id", id)
        .setParameter("sealed", sealed)
        .setParameter("ends", endsMs)
        .executeUpdate();
  }

  /** The session of this id that has not ended. */
  public Optional<Row> find(String id, long nowMs) {
    return session
        .createNativeQuery(
            "select sealed, renewals, renewing_until_ms from page_session"
                + ONE
                + " and ends_ms >= :now",
            Object[].class)
        .addScalar("sealed", String.class)
        .addScalar("renewals", Integer.class)
        .addScalar("renewing_until_ms", Long.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("id", id)
        .setParameter("now", nowMs)
        .uniqueResultOptional()
        .map(row -> new Row((String) row[0], (Integer) row[1], (Long) row[2]));
  }

  /**
   * Takes it on to renew a session.
   *
   * @param renewals how often it was renewed when it was read
   * @param untilMs until when nobody else does
   * @return whether nobody has done so or does it now
   */
  public boolean claim(String id, int renewals, long untilMs, long nowMs) {
    return change(
                "update page_session set renewing_until_ms = :until"
                    + ONE
                    + " and renewals = :renewals and renewing_until_ms < :now")
            .setParameter("id", id)
            .setParameter("renewals", renewals)
            .setParameter("until", untilMs)
            .setParameter("now", nowMs)
            .executeUpdate()
        == 1;
  }

  /** Keeps a session that was renewed, and lets go of it. */
  public void renew(String id, String sealed) {
    change(
            "update page_session set sealed = :sealed, renewals = renewals + 1,"
                + " renewing_until_ms = 0"
                + ONE)
        .setParameter("id", id)
        .setParameter("sealed", sealed)
        .executeUpdate();
  }

  /** Lets go of a session that could not be renewed now. */
  public void release(String id) {
    change("update page_session set renewing_until_ms = 0" + ONE)
        .setParameter("id", id)
        .executeUpdate();
  }

  /** Ends a session. */
  public void end(String id) {
    change("delete from page_session" + ONE).setParameter("id", id).executeUpdate();
  }

  private MutationQuery change(String sql) {
    return session.createNativeMutationQuery(sql).setParameter("clinic", ActingClinic.current());
  }
}
