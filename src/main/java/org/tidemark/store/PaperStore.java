package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.Optional;
import org.hibernate.StatelessSession;
import org.hibernate.query.MutationQuery;
import org.tidemark.clinic.ActingClinic;

/**
 * Keeps which plans' papers are to be written anew. Every method joins the caller's transaction.
 */
@ApplicationScoped
public class PaperStore {
  private static final String OF_PLAN = " where clinic = :clinic and plan_id = :plan";

  private final StatelessSession session;

  PaperStore(StatelessSession session) {
    this.session = session;
  }

  /**
   * A plan whose papers are to be written.
   *
   * @param planId the id of its CarePlan
   * @param markedMs tells this mark from a later one
   */
  public record Due(String planId, long markedMs) {}

  /** Marks a plan. A mark that is there already becomes a new one. */
  public void mark(String planId, long nowMs) {
    int there =
        of(
                "update paper_due set marked_ms = greatest(marked_ms + 1, :now), due_ms = :now"
                    + OF_PLAN,
                planId)
            .setParameter("now", nowMs)
            .executeUpdate();
    if (there == 0) {
      of(
              "insert into paper_due (clinic, plan_id, marked_ms, due_ms)"
                  + " values (:clinic, :plan, :now, :now)",
              planId)
          .setParameter("now", nowMs)
          .executeUpdate();
    }
  }

  /**
   * The plan that has waited longest of those whose time has come and that nobody else has claimed.
   *
   * @param nowMs the present, in milliseconds since 1970 UTC
   * @param untilMs when another may claim it, if its mark is still there
   */
  public Optional<Due> claim(long nowMs, long untilMs) {
    Optional<Due> due =
        session
            .createNativeQuery(
                "select plan_id, marked_ms from paper_due where clinic = :clinic and due_ms <= :now"
                    + " order by due_ms, plan_id fetch first 1 rows only for update skip locked",
                Object[].class)
            .addScalar("plan_id", String.class)
            .addScalar("marked_ms", Long.class)
            .setParameter("clinic", ActingClinic.current())
            .setParameter("now", nowMs)
            .uniqueResultOptional()
            .map(row -> new Due((String) row[0], (Long) row[1]));
    due.ifPresent(claimed -> putOff(claimed, untilMs));
    return due;
  }

  /** Takes a mark away; says whether it was still there. */
  public boolean take(Due due) {
    return of("delete from paper_due" + OF_PLAN + " and marked_ms = :marked", due.planId())
            .setParameter("marked", due.markedMs())
            .executeUpdate()
        > 0;
  }

  /** Puts a mark off. */
  public void putOff(Due due, long untilMs) {
    of("update paper_due set due_ms = :until" + OF_PLAN + " and marked_ms = :marked", due.planId())
        .setParameter("marked", due.markedMs())
        .setParameter("until", untilMs)
        .executeUpdate();
  }

  private MutationQuery of(String statement, String planId) {
    return session
        .createNativeMutationQuery(statement)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("plan", planId);
  }
}
