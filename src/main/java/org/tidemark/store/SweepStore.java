package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.time.LocalDate;
import java.util.List;
import org.hibernate.StatelessSession;
import org.hibernate.query.MutationQuery;
import org.tidemark.clinic.ActingClinic;

/**
 * Keeps which plans the daily sweep has still to look at, and shares them out between instances.
 * Every method joins the caller's transaction.
 */
@ApplicationScoped
public class SweepStore {
  private final StatelessSession session;

  SweepStore(StatelessSession session) {
    this.session = session;
  }

  /**
   * Begins a day's sweep, unless it has begun.
   *
   * @param day the day
   * @throws RuntimeException one that {@link LostRace#isLostRace} knows, when another instance
   *     begins it at this moment
   */
  public void begin(LocalDate day) {
    long begun =
        session
            .createNativeQuery(
                "select count(*) as number from sweep_day"
                    + " where clinic = :clinic and sweep_day >= :day",
                Long.class)
            .addScalar("number", Long.class)
            .setParameter("clinic", ActingClinic.current())
            .setParameter("day", day.toString())
            .uniqueResult();
    if (begun == 0) {
      of("delete from sweep_day where clinic = :clinic").executeUpdate();
      of("insert into sweep_day (clinic, sweep_day) values (:clinic, :day)")
          .setParameter("day", day.toString())
          .executeUpdate();
      listAll();
    }
  }

  /** Lists every plan that runs, besides those that are listed. */
  public void listAll() {
    of("insert into sweep_due (clinic, plan_id, due_ms) select p.clinic, p.plan_id, 0 from plan p"
            + " where p.clinic = :clinic and p.status in ('active', 'draft', 'on-hold')"
            + " and not exists (select 1 from sweep_due d"
            + " where d.clinic = p.clinic and d.plan_id = p.plan_id)")
        .executeUpdate();
  }

  /**
   * Takes plans that nobody else has taken.
   *
   * @param nowMs the present, in milliseconds since 1970 UTC
   * @param untilMs when they may be taken by another, if they are not {@link #done} by then
   * @param most how many at the most
   * @return their ids; empty when none is left
   */
  public List<String> take(long nowMs, long untilMs, int most) {
    List<String> taken =
        session
            .createNativeQuery(
                "select plan_id from sweep_due where clinic = :clinic and due_ms <= :now"
                    + " order by due_ms fetch first :most rows only for update skip locked",
                String.class)
            .addScalar("plan_id", String.class)
            .setParameter("clinic", ActingClinic.current())
            .setParameter("now", nowMs)
            .setParameter("most", most)
            .list();
    if (!taken.isEmpty()) {
      of("update sweep_due set due_ms = :until where clinic = :clinic and plan_id in (:plans)")
          .setParameter("until", untilMs)
          .setParameterList("plans", taken)
          .executeUpdate();
    }
    return taken;
  }

  /** Takes plans off the list. */
  public void done(List<String> plans) {
    of("delete from sweep_due where clinic = :clinic and plan_id in (:plans)")
        .setParameterList("plans", plans)
        .executeUpdate();
  }

  private MutationQuery of(String statement) {
    return session
        .createNativeMutationQuery(statement)
        .setParameter("clinic", ActingClinic.current());
  }
}
