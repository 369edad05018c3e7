package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.List;
import java.util.Optional;
import org.hibernate.StatelessSession;
import org.hibernate.query.MutationQuery;
import org.tidemark.clinic.ActingClinic;

/**
 * Keeps how far Observations have been fetched from a clinic's record system, and which could not
 * be taken. Every method joins the caller's transaction.
 */
@ApplicationScoped
public class PullStore {
  /** The moment reached of a source that has not said yet what time it is there. */
  public static final long NOWHERE = -1;

  private static final String OF = " where clinic = :clinic and source = :source";

  private final StatelessSession session;

  PullStore(StatelessSession session) {
    this.session = session;
  }

  /**
   * How fetching stands.
   *
   * @param reachedMs what was written there up to this moment has been seen, by the clock there, ms
   *     since 1970 UTC; {@link #NOWHERE} at first
   * @param dueMs when it is asked next
   * @param failures how often in a row asking has failed
   * @param problem why it failed last; empty when it did not
   */
  public record State(long reachedMs, long dueMs, int failures, String problem) {}

  /**
   * An Observation that could not be taken.
   *
   * @param id its id there
   * @param version the version that was refused
   * @param refusedMs when, ms since 1970 UTC
   * @param outcome why, an OperationOutcome as JSON
   */
  public record Refused(String id, String version, long refusedMs, String outcome) {}

  /** How fetching from a source stands; empty before it has begun. */
  public Optional<State> find(String source) {
    return session
        .createNativeQuery(
            "select reached_ms, due_ms, failures, problem from pull_state" + OF, Object[].class)
        .addScalar("reached_ms", Long.class)
        .addScalar("due_ms", Long.class)
        .addScalar("failures", Integer.class)
        .addScalar("problem", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("source", source)
        .uniqueResultOptional()
        .map(row -> new State((Long) row[0], (Long) row[1], (Integer) row[2], (String) row[3]));
  }

  /**
   * Begins with a source, where nobody else has.
   *
   * @param reachedMs only what is written there from this moment on is fetched; {@link #NOWHERE}
   *     where it is not known yet
   */
  public void begin(String source, long reachedMs) {
    of(
            "insert into pull_state (clinic, source, reached_ms, lease_ms, due_ms, failures, problem)"
                + " select :clinic, :source, :reached, 0, 0, 0, ''"
                + " where not exists (select 1 from pull_state"
                + OF
                + ")",
            source)
        .setParameter("reached", reachedMs)
        .executeUpdate();
  }

  /**
   * Takes a source that is due, for a time during which nobody else takes it.
   *
   * @param untilMs until when
   * @return whether it was free
   */
  public boolean claim(String source, long nowMs, long untilMs) {
    return of(
                "update pull_state set lease_ms = :until"
                    + OF
                    + " and lease_ms <= :now and due_ms <= :now",
                source)
            .setParameter("until", untilMs)
            .setParameter("now", nowMs)
            .executeUpdate()
        == 1;
  }

  /** Goes on holding a source. */
  public void hold(String source, long untilMs) {
    of("update pull_state set lease_ms = :until" + OF, source)
        .setParameter("until", untilMs)
        .executeUpdate();
  }

  /** Notes that all that was written up to a moment has been seen. */
  public void reach(String source, long reachedMs) {
    of("update pull_state set reached_ms = :reached" + OF + " and reached_ms < :reached", source)
        .setParameter("reached", reachedMs)
        .executeUpdate();
  }

  /** Lets a source go until it is due again. */
  public void release(String source, long dueMs, int failures, String problem) {
    of(
            "update pull_state set lease_ms = 0, due_ms = :due, failures = :failures,"
                + " problem = :problem"
                + OF,
            source)
        .setParameter("due", dueMs)
        .setParameter("failures", failures)
        .setParameter("problem", problem)
        .executeUpdate();
  }

  /** Whether this version of an Observation was refused before. */
  public boolean isRefused(String source, String id, String version) {
    return session
        .createNativeQuery(
            "select source_version from pull_refused" + OF + " and source_id = :id", String.class)
        .addScalar("source_version", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("source", source)
        .setParameter("id", id)
        .uniqueResultOptional()
        .filter(version::equals)
        .isPresent();
  }

  /** Notes that an Observation was refused, instead of an earlier version of it. */
  public void refuse(String source, Refused refused) {
    accept(source, refused.id());
    of(
            "insert into pull_refused (clinic, source, source_id, source_version, refused_ms,"
                + " outcome) values (:clinic, :source, :id, :version, :when, :outcome)",
            source)
        .setParameter("id", refused.id())
        .setParameter("version", refused.version())
        .setParameter("when", refused.refusedMs())
        .setParameter("outcome", refused.outcome())
        .executeUpdate();
  }

  /** Forgets that an earlier version of an Observation was refused. */
  public void accept(String source, String id) {
    of("delete from pull_refused" + OF + " and source_id = :id", source)
        .setParameter("id", id)
        .executeUpdate();
  }

  /** The Observations of a source that were refused, the latest first. */
  public List<Refused> refused(String source, int most) {
    return session
        .createNativeQuery(
            "select source_id, source_version, refused_ms, outcome from pull_refused"
                + OF
                + " order by refused_ms desc, source_id",
            Object[].class)
        .addScalar("source_id", String.class)
        .addScalar("source_version", String.class)
        .addScalar("refused_ms", Long.class)
        .addScalar("outcome", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("source", source)
        .setMaxResults(most)
        .list()
        .stream()
        .map(row -> new Refused((String) row[0], (String) row[1], (Long) row[2], (String) row[3]))
        .toList();
  }

  private MutationQuery of(String statement, String source) {
    return session
        .createNativeMutationQuery(statement)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("source", source);
  }
}
