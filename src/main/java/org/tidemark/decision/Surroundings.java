package org.tidemark.decision;

import java.math.BigDecimal;
import java.time.LocalDate;
import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.tidemark.demand.Demand;
import org.tidemark.demand.Ratio;
import org.tidemark.programme.Condition;
import org.tidemark.programme.Equipment;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Stage;
import org.tidemark.programme.StartRule;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Value;

/**
 * What bounds a choice at one moment: the programme, the person's equipment and items, and the
 * precautions in force.
 *
 * @param programme the programme
 * @param person what is known of the person
 * @param at the moment
 */
record Surroundings(Programme programme, PlanState.Person person, OffsetDateTime at) {

  Equipment equipment() {
    return person.equipment();
  }

  boolean hold(List<Condition> conditions) {
    return conditions.stream().allMatch(condition -> condition.holds(person.items(), equipment()));
  }

  /** The precautions in force today that forbid an exercise at a setting. */
  List<Precaution> forbidding(Variation variation, Setting setting) {
    LocalDate today = at.toLocalDate();
    return person.precautions().stream()
        .filter(precaution -> precaution.holdsOn(today))
        .filter(precaution -> !programme.allows(precaution, variation, setting))
        .toList();
  }

  List<Precaution> forbidding(List<Line> lines) {
    if (person.precautions().isEmpty()) {
      return List.of();
    }
    return lines.stream()
        .flatMap(
            line ->
                forbidding(exercise(line.prescription()).variation(), line.prescription().setting())
                    .stream())
        .distinct()
        .toList();
  }

  boolean allows(Variation variation, Setting setting) {
    return forbidding(variation, setting).isEmpty();
  }

  /** What a setting asks of this person beside another; empty where that cannot be told. */
  Optional<Ratio> demand(Variation variation, Setting from, Setting to) {
    return Demand.ratio(variation, from, to, person.items());
  }

  /** The cap on the demand of a step of a variable. */
  BigDecimal cap(ProgressionVariable variable) {
    return variable.demandCap().orElse(programme.demandCap());
  }

  /** Whether a step of a variable asks more than its cap; what cannot be told does not. */
  boolean exceeds(Optional<Ratio> demand, ProgressionVariable variable) {
    return demand.filter(ratio -> ratio.high() > cap(variable).doubleValue()).isPresent();
  }

  /**
   * The nearest setting that every precaution allows, easier wherever one limits it; empty when
   * there is none.
   */
  Optional<Setting> inside(Variation variation, Setting setting) {
    Setting moved = setting;
    for (ProgressionVariable variable : variation.variables()) {
      Value value = moved.get(variable.code());
      if (value == null || !limited(variation, moved, variable)) {
        continue;
      }
      Setting from = moved;
      Optional<Setting> nearest =
          feasible(variable).stream()
              .filter(other -> variable.compare(other, value) < 0)
              .map(other -> from.with(variable.code(), other))
              .filter(other -> !limited(variation, other, variable))
              .reduce((first, second) -> second);
      if (nearest.isEmpty()) {
        return Optional.empty();
      }
      moved = nearest.get();
    }
    return allows(variation, moved) ? Optional.of(moved) : Optional.empty();
  }

  private boolean limited(Variation variation, Setting setting, ProgressionVariable variable) {
    return forbidding(variation, setting).stream()
        .anyMatch(precaution -> precaution.measure().equals(Optional.of(variable.code())));
  }

  /**
   * The exercise behind a prescription.
   *
   * @throws IllegalStateException when the programme has none, which the edge must not let through
   */
  Exercise exercise(Prescription prescription) {
    return programme
        .exercise(prescription.stage(), prescription.variation())
        .orElseThrow(
            () ->
                new IllegalStateException(
                    prescription.variation()
                        + " is not an exercise of stage "
                        + prescription.stage()));
  }

  Stage stage(Prescription prescription) {
    return programme
        .stage(prescription.stage())
        .orElseThrow(() -> new IllegalStateException("no stage " + prescription.stage()));
  }

  /** Whether every value of the exercises can be made with what is at hand. */
  boolean canMake(List<Line> lines) {
    return Easing.feasible(this, lines)
        .filter(
            made ->
                made.stream()
                    .map(Line::prescription)
                    .toList()
                    .equals(lines.stream().map(Line::prescription).toList()))
        .isPresent();
  }

  /** The values that a variable can be set to, from the easiest to the hardest. */
  List<Value> feasible(ProgressionVariable variable) {
    return variable.fromEasiest(equipment());
  }

  /** The hardest feasible value that is easier than this one. */
  Optional<Value> easier(ProgressionVariable variable, Value value) {
    return feasible(variable).stream()
        .filter(other -> variable.compare(other, value) < 0)
        .reduce((first, second) -> second);
  }

  /** The easiest feasible value that is harder than this one and a step worth taking. */
  Optional<Value> harder(ProgressionVariable variable, Value value) {
    return feasible(variable).stream()
        .filter(other -> variable.compare(other, value) > 0)
        .filter(other -> worthTaking(variable, value, other))
        .findFirst();
  }

  private static boolean worthTaking(ProgressionVariable variable, Value from, Value to) {
    if (from instanceof Amount a && to instanceof Amount b && !a.isZero()) {
      java.math.BigDecimal least = a.value().multiply(variable.leastStepPercent()).movePointLeft(2);
      return a.distanceTo(b).value().compareTo(least) >= 0;
    }
    return true;
  }

  /**
   * The exercises that a stage begins with.
   *
   * @param before what stood before, for settings that are kept
   * @return empty when no lead can be chosen or a setting cannot be made
   */
  Optional<List<Line>> begin(Stage stage, List<Line> before) {
    List<Line> lines = new ArrayList<>();
    boolean led = false;
    for (Exercise exercise : stage.exercises()) {
      boolean wanted =
          exercise.role() == Exercise.Role.LEAD ? !led : exercise.role() == Exercise.Role.COMPANION;
      if (!wanted || !hold(exercise.conditions())) {
        continue;
      }
      Optional<Line> line = begin(stage, exercise, before);
      if (line.isEmpty() && exercise.role() == Exercise.Role.LEAD) {
        return Optional.empty();
      }
      line.ifPresent(lines::add);
      led |= exercise.role() == Exercise.Role.LEAD;
    }
    return led ? Optional.of(lines) : Optional.empty();
  }

  /** One exercise as a stage begins it; empty when its setting cannot be made. */
  Optional<Line> begin(Stage stage, Exercise exercise, List<Line> before) {
    return startOf(exercise, before)
        .map(
            setting ->
                Line.begin(
                    new Prescription(
                        stage.code(),
                        exercise.variation().code(),
                        setting,
                        exercise.variation().ladder().steps().get(exercise.startDose())),
                    exercise.role(),
                    at));
  }

  private Optional<Setting> startOf(Exercise exercise, List<Line> before) {
    Setting setting = new Setting(Map.of());
    for (ProgressionVariable variable : exercise.variation().variables()) {
      StartRule rule = exercise.start().get(variable.code());
      Optional<Value> value =
          rule == null ? easiest(variable) : start(variable, rule, exercise, before);
      if (value.isEmpty()) {
        return Optional.empty();
      }
      setting = setting.with(variable.code(), value.get());
    }
    return Optional.of(setting);
  }

  private Optional<Value> easiest(ProgressionVariable variable) {
    return feasible(variable).stream().findFirst();
  }

  private Optional<Value> start(
      ProgressionVariable variable, StartRule rule, Exercise exercise, List<Line> before) {
    if (rule instanceof StartRule.At fixed) {
      return feasible(variable).stream().filter(fixed.value()::equals).findFirst();
    }
    if (rule instanceof StartRule.LeastCovering covering) {
      Amount least = person.items().get(covering.item()) instanceof Amount known ? known : null;
      return amounts(variable)
          .filter(a -> least == null || !a.isBelow(least))
          .min(Amount::compareTo)
          .map(Value.class::cast);
    }
    if (rule instanceof StartRule.GreatestNotAbove limit) {
      return amounts(variable)
          .filter(a -> !a.isZero() && !a.isAbove(limit.most()))
          .max(Amount::compareTo)
          .map(Value.class::cast);
    }
    if (rule instanceof StartRule.LeastAboveZero) {
      return amounts(variable)
          .filter(a -> !a.isZero())
          .min(Amount::compareTo)
          .map(Value.class::cast);
    }
    return before.stream()
        .map(Line::prescription)
        .filter(p -> p.variation().equals(exercise.variation().code()))
        .flatMap(p -> Optional.ofNullable(p.setting().get(variable.code())).stream())
        .findFirst()
        .or(() -> easiest(variable));
  }

  private java.util.stream.Stream<Amount> amounts(ProgressionVariable variable) {
    return feasible(variable).stream().filter(Amount.class::isInstance).map(Amount.class::cast);
  }
}
