package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.List;
import java.util.Optional;
import org.hibernate.StatelessSession;
import org.hibernate.query.MutationQuery;
import org.tidemark.clinic.ActingClinic;

/**
 * Keeps which plans are to be written back to a clinic's record system, and what of them is there.
 * Every method joins the caller's transaction.
 */
@ApplicationScoped
public class WriteBackStore {
  /** When a plan is due that is not looked at any more by itself. */
  public static final long NEVER = Long.MAX_VALUE;

  private static final String OF_SOURCE = " where clinic = :clinic and source = :source";
  private static final String OF_PLAN = OF_SOURCE + " and plan_id = :plan";
  private static final String OF_RECORD =
      OF_SOURCE + " and record_type = :type and record_id = :id";

  private final StatelessSession session;

  WriteBackStore(StatelessSession session) {
    this.session = session;
  }

  /**
   * A plan that somebody has taken to write it.
   *
   * @param planId the id of its CarePlan
   * @param markedMs tells its mark from a later one
   * @param failures how often in a row writing it has failed
   */
  public record Claimed(String planId, long markedMs, int failures) {}

  /**
   * A plan that waits.
   *
   * @param planId the id of its CarePlan
   * @param sinceMs since when, ms since 1970 UTC; 0 when all of it is there
   * @param dueMs when it is tried next
   * @param failures how often in a row writing it has failed
   * @param problem why it failed last; empty when it did not
   */
  public record Pending(String planId, long sinceMs, long dueMs, int failures, String problem) {}

  /**
   * A record that is there.
   *
   * @param planId the plan that it belongs to
   * @param version our version that was written; 0 when none is known to be
   * @param thereId its id there
   * @param thereVersion its version there, as far as it is known here
   * @param closed whether it is not written any more
   * @param clashVersion the version there that could not be taken here; empty when there is none
   * @param clash why, an OperationOutcome as JSON
   */
  public record There(
      String planId,
      String type,
      String id,
      long version,
      String thereId,
      String thereVersion,
      boolean closed,
      String clashVersion,
      String clash) {

    /** As {@code Type/id}. */
    public String reference() {
      return type + "/" + id;
    }

    /** The same after a version of ours was written. */
    public There written(long newVersion, String newThereVersion, boolean nowClosed) {
      return new There(planId, type, id, newVersion, thereId, newThereVersion, nowClosed, "", "");
    }

    /** Whether a version there could not be taken. */
    public boolean isClashing() {
      return !clashVersion.isEmpty();
    }

    /** The same with a version there that could not be taken. */
    public There clashing(String newVersion, String outcome) {
      return new There(
          planId, type, id, version, thereId, thereVersion, closed, newVersion, outcome);
    }
  }

  /**
   * Marks the plans of a person.
   *
   * @param source the record system
   * @param subject the person, a normal reference
   * @param nowMs the present, ms since 1970 UTC
   */
  public void mark(String source, String subject, long nowMs) {
    mark(
        source,
        "plan_id in (select plan_id from plan where clinic = :clinic and subject = :one)",
        "p.subject = :one",
        subject,
        nowMs);
  }

  /** Marks a plan, which is tried at once. */
  public void markPlan(String source, String planId, long nowMs) {
    mark(source, "plan_id = :one", "p.plan_id = :one", planId, nowMs);
    of("update write_back set due_ms = :now" + OF_PLAN, source)
        .setParameter("plan", planId)
        .setParameter("now", nowMs)
        .executeUpdate();
  }

  private void mark(String source, String which, String whichPlan, String one, long nowMs) {
    of(
            "update write_back set marked_ms = greatest(marked_ms + 1, :now),"
                + " waiting_ms = case when waiting_ms = 0 then :now else waiting_ms end,"
                + " due_ms = case when failures = 0 then :now else due_ms end"
                + OF_SOURCE
                + " and "
                + which,
            source)
        .setParameter("one", one)
        .setParameter("now", nowMs)
        .executeUpdate();
    of(
            "insert into write_back (clinic, source, plan_id, marked_ms, waiting_ms, due_ms,"
                + " lease_ms, failures, problem)"
                + " select p.clinic, :source, p.plan_id, :now, :now, :now, 0, 0, '' from plan p"
                + " where p.clinic = :clinic and "
                + whichPlan
                + " and not exists (select 1 from write_back w where w.clinic = p.clinic"
                + " and w.source = :source and w.plan_id = p.plan_id)",
            source)
        .setParameter("one", one)
        .setParameter("now", nowMs)
        .executeUpdate();
  }

  /**
   * The plan that has been due longest and that nobody else has taken.
   *
   * @param nowMs the present, ms since 1970 UTC
   * @param untilMs when another may take it
   */
  public Optional<Claimed> claim(String source, long nowMs, long untilMs) {
    Optional<Claimed> claimed =
        session
            .createNativeQuery(
                "select plan_id, marked_ms, failures from write_back"
                    + OF_SOURCE
                    + " and due_ms <= :now and lease_ms <= :now"
                    + " order by due_ms, plan_id fetch first 1 rows only for update skip locked",
                Object[].class)
            .addScalar("plan_id", String.class)
            .addScalar("marked_ms", Long.class)
            .addScalar("failures", Integer.class)
            .setParameter("clinic", ActingClinic.current())
            .setParameter("source", source)
            .setParameter("now", nowMs)
            .uniqueResultOptional()
            .map(row -> new Claimed((String) row[0], (Long) row[1], (Integer) row[2]));
    claimed.ifPresent(one -> hold(source, one.planId(), untilMs));
    return claimed;
  }

  /** Goes on holding a plan. */
  public void hold(String source, String planId, long untilMs) {
    of("update write_back set lease_ms = :until" + OF_PLAN, source)
        .setParameter("plan", planId)
        .setParameter("until", untilMs)
        .executeUpdate();
  }

  /**
   * Lets a plan go that has been written. Unless it was marked meanwhile it waits for nothing.
   *
   * @param nextMs when it is looked at again
   */
  public void done(String source, Claimed claimed, long nextMs) {
    of(
            "update write_back set lease_ms = 0, failures = 0, problem = '',"
                + " waiting_ms = case when marked_ms = :marked then 0 else waiting_ms end,"
                + " due_ms = case when marked_ms = :marked then :next else due_ms end"
                + OF_PLAN,
            source)
        .setParameter("plan", claimed.planId())
        .setParameter("marked", claimed.markedMs())
        .setParameter("next", nextMs)
        .executeUpdate();
  }

  /** Lets a plan go that could not be written, until a moment. */
  public void failed(String source, Claimed claimed, String problem, long nextMs) {
    of(
            "update write_back set lease_ms = 0, failures = :failures, problem = :problem,"
                + " due_ms = :next"
                + OF_PLAN,
            source)
        .setParameter("plan", claimed.planId())
        .setParameter("failures", claimed.failures() + 1)
        .setParameter("problem", problem)
        .setParameter("next", nextMs)
        .executeUpdate();
  }

  /** The plans that wait, or whose writing has failed; those that have waited longest first. */
  public List<Pending> pending(String source, int most) {
    return session
        .createNativeQuery(
            "select plan_id, waiting_ms, due_ms, failures, problem from write_back"
                + OF_SOURCE
                + " and (waiting_ms > 0 or failures > 0) order by waiting_ms, plan_id",
            Object[].class)
        .addScalar("plan_id", String.class)
        .addScalar("waiting_ms", Long.class)
        .addScalar("due_ms", Long.class)
        .addScalar("failures", Integer.class)
        .addScalar("problem", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("source", source)
        .setMaxResults(most)
        .list()
        .stream()
        .map(
            row ->
                new Pending(
                    (String) row[0],
                    (Long) row[1],
                    (Long) row[2],
                    (Integer) row[3],
                    (String) row[4]))
        .toList();
  }

  // ---- records ----

  /** What is there of a plan. */
  public List<There> ofPlan(String source, String planId) {
    return records(source, " and plan_id = :one", planId, Integer.MAX_VALUE);
  }

  /** Records whose version there could not be taken. */
  public List<There> clashes(String source, int most) {
    return records(source, " and clash_version > :one", "", most);
  }

  private List<There> records(String source, String which, String one, int most) {
    return session
        .createNativeQuery(
            "select plan_id, record_type, record_id, record_version, there_id, there_version,"
                + " closed, clash_version, clash from write_back_record"
                + OF_SOURCE
                + which
                + " order by plan_id, record_type, record_id",
            Object[].class)
        .addScalar("plan_id", String.class)
        .addScalar("record_type", String.class)
        .addScalar("record_id", String.class)
        .addScalar("record_version", Long.class)
        .addScalar("there_id", String.class)
        .addScalar("there_version", String.class)
        .addScalar("closed", Boolean.class)
        .addScalar("clash_version", String.class)
        .addScalar("clash", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("source", source)
        .setParameter("one", one)
        .setMaxResults(most)
        .list()
        .stream()
        .map(
            row ->
                new There(
                    (String) row[0],
                    (String) row[1],
                    (String) row[2],
                    (Long) row[3],
                    (String) row[4],
                    (String) row[5],
                    (Boolean) row[6],
                    (String) row[7],
                    (String) row[8]))
        .toList();
  }

  /** Notes what is there of a record, in place of what was noted before. */
  public void note(String source, There there) {
    forget(source, there);
    ofRecord(
            "insert into write_back_record (clinic, source, plan_id, record_type, record_id,"
                + " record_version, there_id, there_version, closed, clash_version, clash) values"
                + " (:clinic, :source, :plan, :type, :id, :version, :thereId, :thereVersion,"
                + " :closed, :clashVersion, :clash)",
            source,
            there)
        .setParameter("plan", there.planId())
        .setParameter("version", there.version())
        .setParameter("thereId", there.thereId())
        .setParameter("thereVersion", there.thereVersion())
        .setParameter("closed", there.closed())
        .setParameter("clashVersion", there.clashVersion())
        .setParameter("clash", there.clash())
        .executeUpdate();
  }

  /** Forgets that a record is there. */
  public void forget(String source, There there) {
    ofRecord("delete from write_back_record" + OF_RECORD, source, there).executeUpdate();
  }

  private MutationQuery ofRecord(String statement, String source, There there) {
    return of(statement, source).setParameter("type", there.type()).setParameter("id", there.id());
  }

  private MutationQuery of(String statement, String source) {
    return session
        .createNativeMutationQuery(statement)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("source", source);
  }
}
