package org.tidemark.decision;

import java.util.List;
import java.util.Locale;
import java.util.Optional;
import org.tidemark.demand.ContactAngle;
import org.tidemark.programme.Direction;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.programme.GoalDefinition.Task;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Value;

/**
 * How far a goal is.
 *
 * @param goal the goal
 * @param target the value to reach and where it comes from; empty when it is personal and not known
 * @param first the first value known
 * @param now the newest value known
 * @param met whether it is reached; a goal whose target is not known does not stand in the way
 */
public record GoalReading(
    GoalDefinition goal,
    Optional<Target> target,
    Optional<Value> first,
    Optional<Value> now,
    boolean met) {

  /** Where a value to reach comes from, the one that wins first. */
  public enum Basis {
    /** A clinician has set it. */
    CLINICIAN,
    /** The programme fixes it. */
    PROGRAMME,
    /** It was measured on the person, as the bend of the other knee. */
    MEASURED,
    /** It follows from measures of the person, as the angle at which calf and thigh meet. */
    COMPUTED,
    /** An everyday task asks for it. */
    FUNCTIONAL;

    /** Its code, such as {@code clinician}. */
    public String code() {
      return name().toLowerCase(Locale.ROOT);
    }
  }

  /**
   * A value to reach.
   *
   * @param value the value
   * @param basis where it comes from
   * @param by the item, model or task that it comes from; blank where there is none
   */
  public record Target(Value value, Basis basis, String by) {}

  /** Reads a goal off a plan. */
  public static GoalReading read(GoalDefinition goal, PlanState state) {
    Optional<Target> target = target(goal, state.person());
    boolean body = goal.of() == GoalDefinition.Kind.BODY;
    Optional<Value> now =
        body
            ? Optional.ofNullable(state.person().items().get(goal.measure()))
            : setting(goal, state);
    Optional<Value> first =
        body
            ? Optional.ofNullable(state.person().first().get(goal.measure())).map(Value.class::cast)
            : Optional.empty();
    boolean met =
        target.isEmpty()
            || now.filter(value -> reaches(value, target.get().value(), goal.direction()))
                .isPresent();
    return new GoalReading(goal, target, first, now, met);
  }

  /**
   * What is to be reached: a clinician's word wins, then the programme's, then what is personal.
   */
  private static Optional<Target> target(GoalDefinition goal, PlanState.Person person) {
    return Optional.ofNullable(person.targets().get(goal.code()))
        .map(value -> new Target(value, Basis.CLINICIAN, ""))
        .or(() -> goal.target().map(value -> new Target(value, Basis.PROGRAMME, "")))
        .or(
            () ->
                goal.targetItem()
                    .flatMap(
                        item ->
                            Optional.ofNullable(person.items().get(item))
                                .map(value -> new Target(value, Basis.MEASURED, item))))
        .or(
            () ->
                goal.targetModel()
                    .filter(ContactAngle.MODEL::equals)
                    .flatMap(model -> ContactAngle.of(person.items()))
                    .map(angle -> new Target(angle, Basis.COMPUTED, ContactAngle.MODEL)))
        .or(() -> functional(goal, person));
  }

  /** The first task that was beyond the person at the start; the hardest where none was. */
  private static Optional<Target> functional(GoalDefinition goal, PlanState.Person person) {
    Amount start = person.first().get(goal.measure());
    if (start == null || goal.functional().isEmpty()) {
      return Optional.empty();
    }
    List<Task> tasks = goal.functional();
    Task wanted =
        tasks.stream()
            .filter(task -> !reaches(start, task.needs(), goal.direction()))
            .findFirst()
            .orElse(tasks.get(tasks.size() - 1));
    return Optional.of(new Target(wanted.needs(), Basis.FUNCTIONAL, wanted.title()));
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
