package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.time.LocalDate;
import java.util.List;
import org.hibernate.StatelessSession;
import org.hibernate.query.MutationQuery;
import org.tidemark.clinic.ActingClinic;

/**
 * Keeps how the sessions of each plan went and how many it asked for, so that a clinic's figures
 * need no plan to be folded. Every method joins the caller's transaction.
 */
@ApplicationScoped
public class OutcomeStore {
  private static final String OF_SESSION =
      " where clinic = :clinic and plan_id = :plan and source_type = :type and source_id = :id";

  private final StatelessSession session;

  OutcomeStore(StatelessSession session) {
    this.session = session;
  }

  /**
   * How a session went.
   *
   * @param type the type of the record that it was read from
   * @param id its id
   * @param day the day on which it began, in the person's own calendar
   * @param response how it went, as a code
   * @param leading whether it counts for a leading exercise
   */
  public record Went(String type, String id, LocalDate day, String response, boolean leading) {}

  /**
   * How many sessions of a plan went one way.
   *
   * @param planId the plan
   * @param response how they went, as a code
   * @param leading whether they count for a leading exercise
   * @param sessions how many
   */
  public record Count(String planId, String response, boolean leading, int sessions) {}

  /**
   * What a plan asked for.
   *
   * @param planId the plan
   * @param from from this day until the next entry of the plan
   * @param perWeek sessions a week
   */
  public record Asked(String planId, LocalDate from, int perWeek) {}

  /** Puts how a session went in the place of what was known of it. */
  public void keep(String planId, Went went) {
    int changed =
        bound(
                "update session_outcome set session_day = :day, response = :response,"
                    + " of_lead = :leading"
                    + OF_SESSION,
                planId,
                went)
            .executeUpdate();
    if (changed == 0) {
      bound(
              "insert into session_outcome (clinic, plan_id, source_type, source_id, session_day,"
                  + " response, of_lead) values (:clinic, :plan, :type, :id, :day, :response,"
                  + " :leading)",
              planId,
              went)
          .executeUpdate();
    }
  }

  private MutationQuery bound(String statement, String planId, Went went) {
    return of(statement, planId)
        .setParameter("type", went.type())
        .setParameter("id", went.id())
        .setParameter("day", went.day())
        .setParameter("response", went.response())
        .setParameter("leading", went.leading());
  }

  private MutationQuery of(String statement, String planId) {
    return session
        .createNativeMutationQuery(statement)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("plan", planId);
  }

  /** Forgets a session that was none. */
  public void drop(String planId, String type, String id) {
    of("delete from session_outcome" + OF_SESSION, planId)
        .setParameter("type", type)
        .setParameter("id", id)
        .executeUpdate();
  }

  /** How the sessions of a plan went. */
  public List<Went> sessions(String planId) {
    return session
        .createNativeQuery(
            "select source_type, source_id, session_day, response, of_lead from session_outcome"
                + " where clinic = :clinic and plan_id = :plan",
            Object[].class)
        .addScalar("source_type", String.class)
        .addScalar("source_id", String.class)
        .addScalar("session_day", LocalDate.class)
        .addScalar("response", String.class)
        .addScalar("of_lead", Boolean.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("plan", planId)
        .list()
        .stream()
        .map(
            row ->
                new Went(
                    (String) row[0],
                    (String) row[1],
                    (LocalDate) row[2],
                    (String) row[3],
                    (Boolean) row[4]))
        .toList();
  }

  /** From a day on, and in place of what was known of the days after it, a plan asks for this. */
  public void ask(String planId, LocalDate day, int perWeek) {
    of(
            "delete from plan_asked where clinic = :clinic and plan_id = :plan"
                + " and asked_day >= :day",
            planId)
        .setParameter("day", day)
        .executeUpdate();
    of(
            "insert into plan_asked (clinic, plan_id, asked_day, per_week)"
                + " values (:clinic, :plan, :day, :perWeek)",
            planId)
        .setParameter("day", day)
        .setParameter("perWeek", perWeek)
        .executeUpdate();
  }

  /** Forgets everything about a plan. */
  public void dropAll(String planId) {
    of("delete from session_outcome where clinic = :clinic and plan_id = :plan", planId)
        .executeUpdate();
    of("delete from plan_asked where clinic = :clinic and plan_id = :plan", planId).executeUpdate();
  }

  /** The sessions of some days, both included, counted plan by plan. */
  public List<Count> counts(LocalDate from, LocalDate through) {
    return session
        .createNativeQuery(
            "select plan_id, response, of_lead, count(*) as sessions from session_outcome"
                + " where clinic = :clinic and session_day >= :from and session_day <= :through"
                + " group by plan_id, response, of_lead",
            Object[].class)
        .addScalar("plan_id", String.class)
        .addScalar("response", String.class)
        .addScalar("of_lead", Boolean.class)
        .addScalar("sessions", Integer.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("from", from)
        .setParameter("through", through)
        .list()
        .stream()
        .map(row -> new Count((String) row[0], (String) row[1], (Boolean) row[2], (Integer) row[3]))
        .toList();
  }

  /** What plans have asked for up to a day, in the order of their ids and days. */
  public List<Asked> asked(LocalDate through) {
    return session
        .createNativeQuery(
            "select plan_id, asked_day, per_week from plan_asked"
                + " where clinic = :clinic and asked_day <= :through order by plan_id, asked_day",
            Object[].class)
        .addScalar("plan_id", String.class)
        .addScalar("asked_day", LocalDate.class)
        .addScalar("per_week", Integer.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("through", through)
        .list()
        .stream()
        .map(row -> new Asked((String) row[0], (LocalDate) row[1], (Integer) row[2]))
        .toList();
  }

  /**
   * Plans of which nothing is known here, in the order of their ids.
   *
   * @param after they have ids after this one
   * @param most how many at the most
   */
  public List<String> unknown(String after, int most) {
    return session
        .createNativeQuery(
            "select p.plan_id from plan p where p.clinic = :clinic and p.plan_id > :after"
                + " and not exists (select 1 from plan_asked a"
                + " where a.clinic = p.clinic and a.plan_id = p.plan_id)"
                + " order by p.clinic, p.plan_id limit :most",
            String.class)
        .addScalar("plan_id", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("after", after)
        .setParameter("most", most)
        .list();
  }

  /**
   * Ids of the plans, in their order.
   *
   * @param after they have ids after this one
   * @param most how many at the most
   */
  public List<String> plans(String after, int most) {
    return session
        .createNativeQuery(
            "select plan_id from plan where clinic = :clinic and plan_id > :after"
                + " order by clinic, plan_id limit :most",
            String.class)
        .addScalar("plan_id", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("after", after)
        .setParameter("most", most)
        .list();
  }
}
