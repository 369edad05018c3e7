package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.List;
import java.util.Optional;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hibernate.StatelessSession;

/** Keeps plans and the facts they rest on. Every method joins the caller's transaction. */
@ApplicationScoped
public class PlanStore {
  private static final String OF_PLAN = "clinic = :clinic and planId = :plan";

  /** Rows are read as values: the session keeps no state of them. */
  private static final String FACTS =
      "select sourceType, sourceId, ordinal, sourceVersion, happenedMs, arrivedMs, content from PlanFactRow where "
          + OF_PLAN;

  private final StatelessSession session;
  private final String clinic;

  PlanStore(StatelessSession session, @ConfigProperty(name = "tidemark.clinic") String clinic) {
    this.session = session;
    this.clinic = clinic;
  }

  /** The plan of a CarePlan, if the service runs it. */
  public Optional<StoredPlan> find(String planId) {
    return Optional.ofNullable(session.get(PlanRow.class, new PlanRow.Key(clinic, planId)))
        .map(PlanRow::stored);
  }

  /** Every plan of a person, whatever its status, in the order of their ids. */
  public List<StoredPlan> ofSubject(String subject) {
    return session
        .createSelectionQuery(
            "from PlanRow where clinic = :clinic and subject = :subject order by planId",
            PlanRow.class)
        .setParameter("clinic", clinic)
        .setParameter("subject", subject)
        .list()
        .stream()
        .map(PlanRow::stored)
        .toList();
  }

  public void insert(StoredPlan plan) {
    session.insert(new PlanRow(clinic, plan));
  }

  public void update(StoredPlan plan) {
    session.update(new PlanRow(clinic, plan));
  }

  /** All facts of a plan in the order of their arrival. */
  public List<StoredFact> facts(String planId) {
    return session
        .createSelectionQuery(
            FACTS + " order by arrivedMs, sourceType, sourceId, ordinal", StoredFact.class)
        .setParameter("clinic", clinic)
        .setParameter("plan", planId)
        .list();
  }

  /** What one record says about a plan, in its order. */
  public List<StoredFact> factsFrom(String planId, String sourceType, String sourceId) {
    return session
        .createSelectionQuery(
            FACTS + " and sourceType = :type and sourceId = :id order by ordinal", StoredFact.class)
        .setParameter("clinic", clinic)
        .setParameter("plan", planId)
        .setParameter("type", sourceType)
        .setParameter("id", sourceId)
        .list();
  }

  /** Whether another record says the same of the same moment. */
  public boolean saidBefore(String planId, StoredFact fact) {
    return session
        .createSelectionQuery(FACTS + " and happenedMs = :happened", StoredFact.class)
        .setParameter("clinic", clinic)
        .setParameter("plan", planId)
        .setParameter("happened", fact.happenedMs())
        .list()
        .stream()
        .anyMatch(row -> row.content().equals(fact.content()));
  }

  /** Puts what one record says in the place of what it said before. */
  public void replaceFacts(
      String planId, String sourceType, String sourceId, List<StoredFact> facts) {
    session
        .createMutationQuery(
            "delete from PlanFactRow where "
                + OF_PLAN
                + " and sourceType = :type and sourceId = :id")
        .setParameter("clinic", clinic)
        .setParameter("plan", planId)
        .setParameter("type", sourceType)
        .setParameter("id", sourceId)
        .executeUpdate();
    facts.forEach(fact -> session.insert(new PlanFactRow(clinic, planId, fact)));
  }

  /** Remembers that a prescription was issued for a plan. */
  public void issued(String orderId, String planId) {
    session.insert(new PlanOrderRow(clinic, orderId, planId));
  }

  /** The plan that a prescription was issued for, if the service issued it. */
  public Optional<String> planOfOrder(String orderId) {
    return Optional.ofNullable(
            session.get(PlanOrderRow.class, new PlanOrderRow.Key(clinic, orderId)))
        .map(row -> row.planId);
  }
}
