package org.tidemark.application;

import java.util.List;
import java.util.Optional;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Fact;
import org.tidemark.decision.FactSource;
import org.tidemark.decision.Line;
import org.tidemark.decision.PlanState;
import org.tidemark.decision.Reason;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Value;

/**
 * Sees when reports that came together, such as a month of a diary in one Bundle, lead more than
 * one step above what the person has been prescribed.
 */
final class CatchUp {
  private CatchUp() {}

  /**
   * The fact that holds a plan back; empty when it goes up by one step at the most, or as a
   * clinician has said. A plan that was made easier for a report that proves wrong may go back to
   * where it was, and on from there.
   */
  static Optional<Fact.CaughtUp> of(RunningPlan plan) {
    Optional<Decision> last = plan.state().last();
    List<Prescription> issued =
        plan.issued().orders().stream().map(Issued.Order::prescription).toList();
    if (last.isEmpty()
        || last.get().inForce().isEmpty()
        || issued.isEmpty()
        || saidByClinician(plan)) {
      return Optional.empty();
    }
    List<Prescription> inForce = last.get().inForce();
    int above = steps(plan, issued, inForce);
    int steps =
        plan.issued().before().isEmpty()
            ? above
            : Math.min(above, steps(plan, plan.issued().before(), inForce));
    return steps > 1
        ? Optional.of(
            new Fact.CaughtUp(
                last.get().asOf(), new FactSource("CarePlan", plan.id(), 1), issued, inForce))
        : Optional.empty();
  }

  private static boolean saidByClinician(RunningPlan plan) {
    return plan.state()
        .because()
        .map(Decision::reasons)
        .filter(
            reasons ->
                reasons.contains(Reason.SIGNED_OFF)
                    || reasons.contains(Reason.CLINICIAN_OVERRIDE)
                    || reasons.contains(Reason.PLACED))
        .isPresent();
  }

  /**
   * How many upward changes lead from what was issued to what is in force; where what was issued
   * does not lie on the way, how many things are harder.
   */
  private static int steps(
      RunningPlan plan, List<Prescription> issued, List<Prescription> inForce) {
    if (issued.equals(inForce)) {
      return 0;
    }
    List<PlanState.UpwardChange> path = plan.state().standing().path();
    for (int i = 0; i < path.size(); i++) {
      if (path.get(i).before().stream().map(Line::prescription).toList().equals(issued)) {
        return path.size() - i;
      }
    }
    return inForce.stream().mapToInt(now -> harder(plan, issued, now)).sum();
  }

  /**
   * How many things are harder than they were issued; a variation that was not issued before is
   * one.
   */
  private static int harder(RunningPlan plan, List<Prescription> issued, Prescription now) {
    return issued.stream()
        .filter(before -> before.variation().equals(now.variation()))
        .findFirst()
        .map(
            before ->
                harder(plan.programme().variation(now.variation()).orElseThrow(), before, now))
        .orElse(1);
  }

  private static int harder(Variation variation, Prescription before, Prescription now) {
    int steps = now.dose().volume() > before.dose().volume() ? 1 : 0;
    for (ProgressionVariable variable : variation.variables()) {
      Value then = before.setting().get(variable.code());
      Value value = now.setting().get(variable.code());
      steps += then != null && value != null && variable.compare(value, then) > 0 ? 1 : 0;
    }
    return steps;
  }
}
