package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.tidemark.decision.PlanState;
import org.tidemark.fhir.CarePlanWriter;
import org.tidemark.fhir.References;
import org.tidemark.store.CaseloadStore;
import org.tidemark.store.ResourceStore;
import org.tidemark.store.StoredFact;

/** Holds a plan against its facts and against the records that were issued for it. */
@ApplicationScoped
class StoredPlanCheck {
  private static final Set<String> STANDING = Set.of("active", "on-hold");

  private final PlanBook book;
  private final Records records;
  private final ResourceStore resources;
  private final CaseloadStore caseload;

  StoredPlanCheck(PlanBook book, Records records, ResourceStore resources, CaseloadStore caseload) {
    this.book = book;
    this.records = records;
    this.resources = resources;
    this.caseload = caseload;
  }

  /** What is wrong with a plan; joins the caller's transaction. */
  List<Finding> of(String planId) {
    String where = "CarePlan/" + planId;
    List<Finding> found = new ArrayList<>();
    Optional<RunningPlan> read;
    PlanState replayed;
    try {
      read = book.find(planId);
      if (read.isEmpty()) {
        return List.of();
      }
      replayed = book.refold(read.get());
    } catch (RuntimeException unreadable) {
      // Whatever is wrong with the text, it says itself no more than that it cannot be read.
      return List.of(new Finding(Finding.Kind.PLAN_UNREADABLE, where));
    }
    RunningPlan plan = read.get();
    if (!replayed.equals(plan.state())) {
      found.add(new Finding(Finding.Kind.PLAN_STATE, where));
    }
    if (!isOneSetInForce(plan)) {
      found.add(new Finding(Finding.Kind.IN_FORCE, where));
    }
    if (plan.open() != caseload.find(planId).isPresent()) {
      found.add(new Finding(Finding.Kind.CASELOAD, where));
    }
    if (book.facts(planId).stream().anyMatch(this::hasNoSource)) {
      found.add(new Finding(Finding.Kind.FACT_SOURCE, where));
    }
    return found;
  }

  /**
   * Of all prescriptions that were issued for a plan those stand that are kept as issued or as
   * waiting for a sign-off, with the status that is kept, and the CarePlan lists just those issued.
   * A plan that has ended has none.
   */
  private boolean isOneSetInForce(RunningPlan plan) {
    List<Issued.Order> orders = plan.issued().orders();
    Map<String, String> standing =
        Stream.concat(
                orders.stream(),
                plan.issued().waiting().stream().flatMap(waiting -> waiting.proposals().stream()))
            .collect(Collectors.toMap(Issued.Order::id, Issued.Order::status));
    Set<String> known = book.orders(plan.id());
    return known.containsAll(standing.keySet())
        && known.stream().allMatch(id -> isAsKept(id, Optional.ofNullable(standing.get(id))))
        && (plan.open() ? listed(plan).equals(ids(orders)) : standing.isEmpty());
  }

  private boolean isAsKept(String id, Optional<String> kept) {
    Optional<String> status =
        records.find(ServiceRequest.class, id).map(order -> order.getStatus().toCode());
    return kept.isPresent() ? status.equals(kept) : status.filter(STANDING::contains).isEmpty();
  }

  private static Set<String> ids(List<Issued.Order> orders) {
    return orders.stream().map(Issued.Order::id).collect(Collectors.toSet());
  }

  private Set<String> listed(RunningPlan plan) {
    return records.find(CarePlan.class, plan.id()).stream()
        .flatMap(carePlan -> CarePlanWriter.orders(carePlan).stream())
        .map(References::idOf)
        .collect(Collectors.toSet());
  }

  private boolean hasNoSource(StoredFact fact) {
    return resources
        .findVersion(fact.sourceType(), fact.sourceId(), fact.sourceVersion())
        .isEmpty();
  }
}
