package org.tidemark.decision;

import java.util.Optional;
import org.tidemark.programme.Direction;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Value;

/**
 * How far a goal is.
 *
 * @param goal the goal
 * @param target the value to reach; empty when it is personal and not known
 * @param first the first value known
 * @param now the newest value known
 * @param met whether it is reached; a goal whose target is not known does not stand in the way
 */
public record GoalReading(
    GoalDefinition goal,
    Optional<Value> target,
    Optional<Value> first,
    Optional<Value> now,
    boolean met) {

  /** Reads a goal off a plan. */
  public static GoalReading read(GoalDefinition goal, PlanState state) {
    Optional<Value> target =
        goal.target()
            .or(
                () ->
                    goal.targetItem()
                        .flatMap(item -> Optional.ofNullable(state.person().items().get(item))));
    Optional<Value> now =
        goal.of() == GoalDefinition.Kind.BODY
            ? Optional.ofNullable(state.person().items().get(goal.measure()))
            : setting(goal, state);
    Optional<Value> first =
        goal.of() == GoalDefinition.Kind.BODY
            ? Optional.ofNullable(state.person().first().get(goal.measure())).map(Value.class::cast)
            : Optional.empty();
    boolean met =
        target.isEmpty()
            || now.filter(value -> reaches(value, target.get(), goal.direction())).isPresent();
    return new GoalReading(goal, target, first, now, met);
  }

  private static Optional<Value> setting(GoalDefinition goal, PlanState state) {
    return state.standing().lines().stream()
        .flatMap(
            line -> Optional.ofNullable(line.prescription().setting().get(goal.measure())).stream())
        .findFirst();
  }

  private static boolean reaches(Value value, Value target, Direction better) {
    if (value instanceof Amount a && target instanceof Amount b && a.unit() == b.unit()) {
      return better == Direction.INCREASE ? !a.isBelow(b) : !a.isAbove(b);
    }
    return value instanceof Grade && value.equals(target);
  }
}
