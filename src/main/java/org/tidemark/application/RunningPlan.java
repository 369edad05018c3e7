package org.tidemark.application;

import java.util.Optional;
import org.tidemark.decision.PlanState;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Side;
import org.tidemark.store.StoredPlan;

/**
 * A plan that the service runs.
 *
 * @param id id of its CarePlan
 * @param subject the person, as a normalised reference
 * @param side the side of the body it is for
 * @param programme its programme
 * @param status the status of its CarePlan, as a code
 * @param state the plan folded up to its newest fact
 * @param issued what has been issued for it
 */
record RunningPlan(
    String id,
    String subject,
    Side side,
    Programme programme,
    String status,
    PlanState state,
    Issued issued) {

  static RunningPlan of(StoredPlan stored, Programme programme) {
    return new RunningPlan(
        stored.planId(),
        stored.subject(),
        Side.valueOf(stored.side()),
        programme,
        stored.status(),
        PlanCodec.state(stored.state()),
        PlanCodec.issued(stored.issued()));
  }

  StoredPlan stored() {
    return new StoredPlan(
        id,
        subject,
        side.name(),
        programme.id().canonical(),
        status,
        PlanCodec.state(state),
        PlanCodec.issued(issued));
  }

  RunningPlan with(PlanState other) {
    return new RunningPlan(id, subject, side, programme, status, other, issued);
  }

  RunningPlan with(Issued other) {
    return new RunningPlan(id, subject, side, programme, status, state, other);
  }

  RunningPlan withStatus(String other) {
    return new RunningPlan(id, subject, side, programme, other, state, issued);
  }

  /** Whether reports still change it: a plan that is active, a draft, or on hold. */
  boolean open() {
    return status.equals("active") || status.equals("draft") || status.equals("on-hold");
  }

  /** The prescription that was issued under this id and still stands. */
  Optional<Issued.Order> order(String serviceRequestId) {
    return issued.orders().stream()
        .filter(order -> order.id().equals(serviceRequestId))
        .findFirst();
  }
}
