package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.Collection;
import java.util.List;
import java.util.Optional;
import org.hibernate.StatelessSession;
import org.hibernate.query.NativeQuery;
import org.tidemark.clinic.ActingClinic;

/** Keeps plans and the facts they rest on. Every method joins the caller's transaction. */
@ApplicationScoped
public class PlanStore {
  private static final String OF_PLAN = "clinic = :clinic and plan_id = :plan";

  /** Rows are read as values: the session keeps no state of them. */
  private static final String FACTS =
      "select source_type, source_id, ordinal, source_version, happened_ms, arrived_ms, content"
          + " from plan_fact where "
          + OF_PLAN;

  private final StatelessSession session;

  PlanStore(StatelessSession session) {
    this.session = session;
  }

  /** The plan of a CarePlan, if the service runs it. */
  public Optional<StoredPlan> find(String planId) {
    return Optional.ofNullable(
            session.get(PlanRow.class, new PlanRow.Key(ActingClinic.current(), planId)))
        .map(PlanRow::stored);
  }

  /** Every plan of a person, whatever its status, in the order of their ids. */
  public List<StoredPlan> ofSubject(String subject) {
    return session
        .createNativeQuery(
            "select * from plan where clinic = :clinic and subject = :subject order by plan_id",
            PlanRow.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("subject", subject)
        .list()
        .stream()
        .map(PlanRow::stored)
        .toList();
  }

  /**
   * Ids of plans that run and that the caseload does not list, in their order.
   *
   * @param limit how many at the most
   */
  public List<String> unlisted(int limit) {
    return session
        .createNativeQuery(
            "select p.plan_id from plan p where p.clinic = :clinic"
                + " and p.status in ('active', 'draft', 'on-hold')"
                + " and not exists (select 1 from caseload c"
                + " where c.clinic = p.clinic and c.plan_id = p.plan_id)"
                + " order by p.plan_id limit :limit",
            String.class)
        .addScalar("plan_id", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("limit", limit)
        .list();
  }

  public void insert(StoredPlan plan) {
    session.insert(new PlanRow(ActingClinic.current(), plan));
  }

  public void update(StoredPlan plan) {
    session.update(new PlanRow(ActingClinic.current(), plan));
  }

  /** All facts of a plan in the order of their arrival. */
  public List<StoredFact> facts(String planId) {
    return read(facts(planId, " order by arrived_ms, source_type, source_id, ordinal"));
  }

  /** What records of one type say about a plan, each in its order. */
  public List<StoredFact> factsFrom(
      String planId, String sourceType, Collection<String> sourceIds) {
    return read(
        facts(
                planId,
                " and source_type = :type and source_id in (:ids) order by source_id, ordinal")
            .setParameter("type", sourceType)
            .setParameterList("ids", sourceIds));
  }

  /** What is said about a plan of some moments. */
  public List<StoredFact> factsAt(String planId, Collection<Long> momentsMs) {
    return momentsMs.isEmpty()
        ? List.of()
        : read(
            facts(planId, " and happened_ms in (:moments)").setParameterList("moments", momentsMs));
  }

  private NativeQuery<Object[]> facts(String planId, String condition) {
    return session
        .createNativeQuery(FACTS + condition, Object[].class)
        .addScalar("source_type", String.class)
        .addScalar("source_id", String.class)
        .addScalar("ordinal", Integer.class)
        .addScalar("source_version", Long.class)
        .addScalar("happened_ms", Long.class)
        .addScalar("arrived_ms", Long.class)
        .addScalar("content", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("plan", planId);
  }

  private static List<StoredFact> read(NativeQuery<Object[]> facts) {
    return facts.list().stream()
        .map(
            row ->
                new StoredFact(
                    (String) row[0],
                    (String) row[1],
                    (Integer) row[2],
                    (Long) row[3],
                    (Long) row[4],
                    (Long) row[5],
                    (String) row[6]))
        .toList();
  }

  /** Adds what a record says that has said nothing before. */
  public void addFacts(String planId, List<StoredFact> facts) {
    session.insertMultiple(
        facts.stream().map(fact -> new PlanFactRow(ActingClinic.current(), planId, fact)).toList());
  }

  /** Puts what one record says in the place of what it said before. */
  public void replaceFacts(
      String planId, String sourceType, String sourceId, List<StoredFact> facts) {
    session
        .createNativeMutationQuery(
            "delete from plan_fact where "
                + OF_PLAN
                + " and source_type = :type and source_id = :id")
        .setParameter("clinic", ActingClinic.current())
        .setParameter("plan", planId)
        .setParameter("type", sourceType)
        .setParameter("id", sourceId)
        .executeUpdate();
    addFacts(planId, facts);
  }

  /** Puts facts in the place of all that a plan rested on. */
  public void replaceAllFacts(String planId, List<StoredFact> facts) {
    session
        .createNativeMutationQuery("delete from plan_fact where " + OF_PLAN)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("plan", planId)
        .executeUpdate();
    addFacts(planId, facts);
  }

  /** Remembers that a prescription was issued for a plan. */
  public void issued(String orderId, String planId) {
    session.insert(new PlanOrderRow(ActingClinic.current(), orderId, planId));
  }

  /** The plan that a prescription was issued for, if the service issued it. */
  public Optional<String> planOfOrder(String orderId) {
    return Optional.ofNullable(
            session.get(PlanOrderRow.class, new PlanOrderRow.Key(ActingClinic.current(), orderId)))
        .map(row -> row.planId);
  }

  /** The prescriptions that were issued for a plan, by their ids. */
  public List<String> orders(String planId) {
    return session
        .createNativeQuery(
            "select order_id from plan_order where " + OF_PLAN + " order by order_id", String.class)
        .addScalar("order_id", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("plan", planId)
        .list();
  }
}
