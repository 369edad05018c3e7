package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.HashMap;
import java.util.Map;
import java.util.Optional;
import org.hibernate.StatelessSession;
import org.hibernate.query.MutationQuery;
import org.tidemark.clinic.ActingClinic;

/**
 * Keeps what was received from other clinics: which of their plans and records are which of ours.
 * Every method joins the caller's transaction.
 */
@ApplicationScoped
public class HandoverStore {
  private final StatelessSession session;

  HandoverStore(StatelessSession session) {
    this.session = session;
  }

  /**
   * A plan that was received.
   *
   * @param issuer the base address of the clinic that handed it over
   * @param issuerPlan the id of its CarePlan there
   * @param planId the id of its CarePlan here
   * @param document the identifier of the document that brought it last
   * @param facts a digest of the facts that came with it
   */
  public record Received(
      String issuer, String issuerPlan, String planId, String document, String facts) {}

  /**
   * A record that was received.
   *
   * @param id its id here
   * @param version the version in which it came
   */
  public record Copy(String id, long version) {}

  /** What a plan of another clinic has become here, if it was received. */
  public Optional<Received> find(String issuer, String issuerPlan) {
    return session
        .createNativeQuery(
            "select plan_id, document, facts from handover"
                + " where clinic = :clinic and issuer = :issuer and issuer_plan = :plan",
            Object[].class)
        .addScalar("plan_id", String.class)
        .addScalar("document", String.class)
        .addScalar("facts", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("issuer", issuer)
        .setParameter("plan", issuerPlan)
        .uniqueResultOptional()
        .map(
            row ->
                new Received(
                    issuer, issuerPlan, (String) row[0], (String) row[1], (String) row[2]));
  }

  /** Remembers a plan that was received, in the place of what was remembered of it. */
  public void keep(Received plan) {
    int there =
        filled(
                "update handover set document = :document, facts = :facts, plan_id = :planId"
                    + " where clinic = :clinic and issuer = :issuer and issuer_plan = :issuerPlan",
                plan)
            .executeUpdate();
    if (there == 0) {
      filled(
              "insert into handover (clinic, issuer, issuer_plan, plan_id, document, facts)"
                  + " values (:clinic, :issuer, :issuerPlan, :planId, :document, :facts)",
              plan)
          .executeUpdate();
    }
  }

  private MutationQuery filled(String statement, Received plan) {
    return session
        .createNativeMutationQuery(statement)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("issuer", plan.issuer())
        .setParameter("issuerPlan", plan.issuerPlan())
        .setParameter("planId", plan.planId())
        .setParameter("document", plan.document())
        .setParameter("facts", plan.facts());
  }

  /** The records of a type that were received from a clinic, by their ids there. */
  public Map<String, Copy> copies(String issuer, String type) {
    Map<String, Copy> copies = new HashMap<>();
    session
        .createNativeQuery(
            "select issuer_id, resource_id, version from handover_record"
                + " where clinic = :clinic and issuer = :issuer and resource_type = :type",
            Object[].class)
        .addScalar("issuer_id", String.class)
        .addScalar("resource_id", String.class)
        .addScalar("version", Long.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("issuer", issuer)
        .setParameter("type", type)
        .list()
        .forEach(row -> copies.put((String) row[0], new Copy((String) row[1], (Long) row[2])));
    return copies;
  }

  /**
   * Remembers a record that was received, in the place of what was remembered of it.
   *
   * @param issuer the clinic
   * @param type the record's type
   * @param issuerId its id there
   * @param copy what it is here
   * @param known whether it was remembered before
   */
  public void keep(String issuer, String type, String issuerId, Copy copy, boolean known) {
    session
        .createNativeMutationQuery(
            known
                ? "update handover_record set resource_id = :id, version = :version"
                    + " where clinic = :clinic and issuer = :issuer and resource_type = :type"
                    + " and issuer_id = :issuerId"
                : "insert into handover_record (clinic, issuer, resource_type, issuer_id,"
                    + " resource_id, version)"
                    + " values (:clinic, :issuer, :type, :issuerId, :id, :version)")
        .setParameter("clinic", ActingClinic.current())
        .setParameter("issuer", issuer)
        .setParameter("type", type)
        .setParameter("issuerId", issuerId)
        .setParameter("id", copy.id())
        .setParameter("version", copy.version())
        .executeUpdate();
  }
}
