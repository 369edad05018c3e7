package org.tidemark.fhir;

import java.util.List;
import java.util.Locale;
import java.util.Optional;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Range;
import org.hl7.fhir.r4.model.Type;
import org.tidemark.programme.Direction;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/** Reads what a Goal is to reach, as a clinician sets it or as {@link GoalWriter} wrote it. */
public final class TargetReader {
  private TargetReader() {}

  /** The goal of a programme that a Goal sets a target for, by its measure, if it is one. */
  public static Optional<GoalDefinition> definition(Goal goal, Programme programme) {
    return programme.goals().stream()
        .filter(known -> goal.getTarget().stream().anyMatch(target -> measures(target, known)))
        .findFirst();
  }

  /**
   * The value that a Goal is to reach.
   *
   * @param definition the goal that it is of
   * @return empty when it has no target with that goal's measure, or that target has no detail
   * @throws Problem when the detail is not of the measure's kind, unit or range
   */
  public static Optional<Value> read(Goal goal, GoalDefinition definition, Programme programme) {
    for (int i = 0; i < goal.getTarget().size(); i++) {
      Goal.GoalTargetComponent target = goal.getTarget().get(i);
      if (measures(target, definition) && target.hasDetail()) {
        String path = "Goal.target[" + i + "].detail";
        return Optional.of(value(target.getDetail(), definition, programme, path));
      }
    }
    return Optional.empty();
  }

  private static boolean measures(Goal.GoalTargetComponent target, GoalDefinition definition) {
    String system =
        definition.of() == GoalDefinition.Kind.BODY
            ? Codes.REPORT_ITEM
            : Codes.PROGRESSION_VARIABLE;
    return target.getMeasure().hasCoding(system, definition.measure());
  }

  private static Value value(
      Type detail, GoalDefinition definition, Programme programme, String path) {
    if (detail instanceof CodeableConcept concept) {
      return accepted(grade(concept, path), definition, programme, path);
    }
    Quantity quantity =
        detail instanceof Range range
            ? bound(range, definition.direction(), path)
            : detail instanceof Quantity exact ? exact : null;
    String at = detail instanceof Range ? path + end(definition.direction()) : path;
    if (quantity == null) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED, "A Quantity, a Range or a coded grade is wanted.", path);
    }
    if (definition.of() == GoalDefinition.Kind.BODY) {
      return ofBody(quantity, definition, at);
    }
    Unit unit = unit(definition, path);
    return accepted(Units.amount(quantity, unit, at), definition, programme, at);
  }

  /** The end of a range that counts: its low end where more is better. */
  private static Quantity bound(Range range, Direction better, String path) {
    boolean more = better == Direction.INCREASE;
    if (more ? !range.hasLow() : !range.hasHigh()) {
      throw Problem.of(
          Problem.Kind.MISSING,
          more
              ? "The low end is needed: this goal is reached at or above it."
              : "The high end is needed: this goal is reached at or below it.",
          path + end(better));
    }
    return more ? range.getLow() : range.getHigh();
  }

  private static String end(Direction better) {
    return better == Direction.INCREASE ? ".low" : ".high";
  }

  private static Value ofBody(Quantity quantity, GoalDefinition definition, String path) {
    Optional<Item> item = Item.find(Codes.REPORT_ITEM, definition.measure());
    Findings findings = new Findings();
    AnswerReader answers = new AnswerReader(findings);
    Optional<Amount> amount =
        item.isPresent()
            ? answers.amount(item.get(), quantity, path)
            : findings.read(() -> Units.findAny(quantity, path).orElseThrow(() -> noValue(path)));
    findings.check();
    return amount.orElseThrow(() -> noValue(path));
  }

  private static Problem noValue(String path) {
    return Problem.of(Problem.Kind.MISSING, "A value is needed.", path + ".value");
  }

  private static Grade grade(CodeableConcept concept, String path) {
    String code = concept.hasCoding() ? concept.getCodingFirstRep().getCode() : concept.getText();
    if (code == null || code.isBlank()) {
      throw Problem.of(Problem.Kind.MISSING, "The grade needs a code.", path + ".coding");
    }
    return new Grade(code.replace(' ', '-'));
  }

  private static Unit unit(GoalDefinition definition, String path) {
    return definition
        .target()
        .filter(Amount.class::isInstance)
        .map(value -> ((Amount) value).unit())
        .orElseThrow(
            () -> Problem.of(Problem.Kind.UNSUPPORTED, "This goal is reached by a grade.", path));
  }

  private static Value accepted(
      Value value, GoalDefinition definition, Programme programme, String path) {
    List<ProgressionVariable> variables =
        programme.stages().stream()
            .flatMap(stage -> stage.exercises().stream())
            .flatMap(exercise -> exercise.variation().variable(definition.measure()).stream())
            .toList();
    if (variables.stream().noneMatch(variable -> variable.accepts(value))) {
      throw Problem.of(
          Problem.Kind.OUT_OF_RANGE,
          "'"
              + definition.measure()
              + "' cannot be set to "
              + Texts.of(Locale.ENGLISH).value(value)
              + ".",
          path);
    }
    return value;
  }
}
