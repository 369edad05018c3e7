package org.tidemark.fhir;

import ca.uhn.fhir.model.api.TemporalPrecisionEnum;
import java.math.BigDecimal;
import java.math.RoundingMode;
import java.time.LocalDate;
import java.time.OffsetDateTime;
import java.util.Optional;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.Goal.GoalTargetComponent;
import org.hl7.fhir.r4.model.Narrative;
import org.hl7.fhir.r4.model.Range;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Type;
import org.tidemark.decision.GoalReading;
import org.tidemark.programme.Direction;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;
import org.tidemark.trend.MinimalDetectableChange;

/**
 * Writes how far a goal is. The same reading gives the same Goal, so that nothing needs to be
 * stored when nothing moved.
 */
public final class GoalWriter {

  /** How far a goal is, by code and display of the standard's goal-achievement. */
  private enum Achievement {
    IN_PROGRESS("in-progress", "In Progress"),
    IMPROVING("improving", "Improving"),
    ACHIEVED("achieved", "Achieved"),
    SUSTAINING("sustaining", "Sustaining");

    private final String code;
    private final String display;

    Achievement(String code, String display) {
      this.code = code;
      this.display = display;
    }

    private boolean of(Goal goal) {
      return goal.getAchievementStatus().hasCoding(Codes.GOAL_ACHIEVEMENT, code);
    }
  }

  private GoalWriter() {}

  /**
   * The goal as of a time. Achieved from the day it is first met, sustaining when it is still met
   * on a later day. Improving only when a measure of the body has changed for the better, from its
   * first value to its newest, by at least what measurement error alone can make (MDC95); otherwise
   * in progress. A goal whose target is not known is never achieved.
   *
   * @param former the Goal as it is stored, if it is; what someone else has added to it stays
   * @param asOf the time of the newest fact
   */
  public static Goal write(
      PlanIdentity plan, GoalReading reading, Optional<Goal> former, OffsetDateTime asOf) {
    Achievement achievement = achievement(reading, former, asOf.toLocalDate());
    Goal goal = former.map(Goal::copy).orElseGet(Goal::new);
    set(goal, Extensions.code("goal-code", reading.goal().code()));
    set(goal, Extensions.side(plan));
    if (!goal.hasLifecycleStatus()) {
      goal.setLifecycleStatus(Goal.GoalLifecycleStatus.ACTIVE);
    }
    if (!achievement.of(goal) || !goal.hasStatusDate()) {
      goal.setAchievementStatus(
          Codes.concept(Codes.GOAL_ACHIEVEMENT, achievement.code, achievement.display));
      goal.setStatusDateElement(DateTimes.date(asOf));
    }
    if (!goal.getCategory().stream()
        .anyMatch(c -> c.hasCoding(Codes.GOAL_CATEGORY, "physiotherapy"))) {
      goal.addCategory(Codes.concept(Codes.GOAL_CATEGORY, "physiotherapy", "Physiotherapy"));
    }
    goal.setDescription(new CodeableConcept().setText(reading.goal().title()));
    goal.setSubject(new Reference(plan.subject()));
    if (!goal.hasStart()) {
      goal.setStart(DateTimes.date(asOf));
    }
    target(goal, plan, reading);
    goal.setText(text(plan, reading, achievement, since(goal)));
    return goal;
  }

  private static void set(Goal goal, Extension extension) {
    Extension known = goal.getExtensionByUrl(extension.getUrl());
    if (known == null) {
      goal.addExtension(extension);
    } else {
      known.setValue(extension.getValue());
    }
  }

  private static Achievement achievement(
      GoalReading reading, Optional<Goal> former, LocalDate day) {
    if (reading.target().isPresent() && reading.met()) {
      boolean sustaining = former.filter(Achievement.SUSTAINING::of).isPresent();
      boolean metBefore =
          former
              .filter(Achievement.ACHIEVED::of)
              .flatMap(GoalWriter::statusDay)
              .filter(day::isAfter)
              .isPresent();
      return sustaining || metBefore ? Achievement.SUSTAINING : Achievement.ACHIEVED;
    }
    return improving(reading) ? Achievement.IMPROVING : Achievement.IN_PROGRESS;
  }

  private static boolean improving(GoalReading reading) {
    if (!comparable(reading)) {
      return false;
    }
    Amount first = (Amount) reading.first().orElseThrow();
    Amount now = (Amount) reading.now().orElseThrow();
    boolean better =
        reading.goal().direction() == Direction.INCREASE ? now.isAbove(first) : now.isBelow(first);
    return better
        && MinimalDetectableChange.of(now.unit())
            .filter(change -> change.isShown(first, now))
            .isPresent();
  }

  /** Whether there are two readings of the body in one unit. */
  private static boolean comparable(GoalReading reading) {
    return reading.goal().of() == GoalDefinition.Kind.BODY
        && reading.first().orElse(null) instanceof Amount first
        && reading.now().orElse(null) instanceof Amount now
        && first.unit() == now.unit();
  }

  /** Since when the status holds, in words; as it is written where it is no single day. */
  private static String since(Goal goal) {
    return statusDay(goal)
        .map(DateTimes::day)
        .orElse(goal.getStatusDateElement().getValueAsString());
  }

  /** The day of the status; empty when whoever wrote it gave no day. */
  private static Optional<LocalDate> statusDay(Goal goal) {
    return Optional.of(goal.getStatusDateElement())
        .filter(date -> date.hasValue() && date.getPrecision() == TemporalPrecisionEnum.DAY)
        .map(date -> LocalDate.parse(date.getValueAsString()));
  }

  /** Sets the target with our measure; a due date that someone gave it, and other targets, stay. */
  private static void target(Goal goal, PlanIdentity plan, GoalReading reading) {
    GoalDefinition definition = reading.goal();
    boolean body = definition.of() == GoalDefinition.Kind.BODY;
    String system = body ? Codes.REPORT_ITEM : Codes.PROGRESSION_VARIABLE;
    GoalTargetComponent target =
        goal.getTarget().stream()
            .filter(known -> known.getMeasure().hasCoding(system, definition.measure()))
            .findFirst()
            .orElseGet(goal::addTarget);
    target.setMeasure(
        Codes.concept(system, definition.measure(), null).setText(measure(plan, definition)));
    target.setDetail(
        reading
            .target()
            .map(wanted -> detail(wanted.value(), definition.direction()))
            .orElse(null));
  }

  /** An amount is a range that is open on its better side: anything at or beyond it will do. */
  private static Type detail(Value value, Direction better) {
    if (value instanceof Amount amount) {
      Range range = new Range();
      return better == Direction.INCREASE
          ? range.setLow(Extensions.quantity(amount))
          : range.setHigh(Extensions.quantity(amount));
    }
    return value instanceof Grade
        ? new CodeableConcept().setText(PrescriptionText.value(value))
        : new BooleanType(((YesNo) value).yes());
  }

  private static String measure(PlanIdentity plan, GoalDefinition goal) {
    return plan.programme().stages().stream()
        .flatMap(stage -> stage.exercises().stream())
        .flatMap(exercise -> exercise.variation().variable(goal.measure()).stream())
        .map(ProgressionVariable::title)
        .findFirst()
        .orElseGet(() -> PrescriptionText.words(goal.measure()));
  }

  private static Narrative text(
      PlanIdentity plan, GoalReading reading, Achievement achievement, String since) {
    GoalDefinition goal = reading.goal();
    Prose prose = new Prose().title(goal.title());
    prose.labelled(achievement.display + ".", "Since " + since + ".");
    String measure = PrescriptionText.withinSentence(measure(plan, goal));
    String sense = goal.direction() == Direction.INCREASE ? " or more" : " or less";
    prose.paragraph(
        reading
            .target()
            .map(GoalReading.Target::value)
            .map(PrescriptionText::value)
            .map(
                value ->
                    "Target: "
                        + measure
                        + " "
                        + value
                        + (amount(reading.target().map(GoalReading.Target::value)) ? sense : "")
                        + ".")
            .orElse("Target: " + measure + "; the value to reach is personal and not known yet."));
    reading
        .first()
        .ifPresent(value -> prose.paragraph("First: " + PrescriptionText.value(value) + "."));
    reading
        .now()
        .ifPresent(value -> prose.paragraph("Now: " + PrescriptionText.value(value) + "."));
    if (comparable(reading) && !reading.first().equals(reading.now())) {
      Amount first = (Amount) reading.first().orElseThrow();
      Amount now = (Amount) reading.now().orElseThrow();
      MinimalDetectableChange.of(now.unit())
          .ifPresent(change -> prose.paragraph(shown(change, first, now)));
    }
    prose.paragraph("Plan: " + PlanText.title(plan) + ".");
    prose.list(SafetyText.CAUTIONS);
    return prose.narrative();
  }

  private static boolean amount(Optional<Value> value) {
    return value.filter(Amount.class::isInstance).isPresent();
  }

  private static String shown(MinimalDetectableChange change, Amount first, Amount now) {
    BigDecimal tenth = BigDecimal.valueOf(change.at95()).setScale(1, RoundingMode.HALF_UP);
    String least = PrescriptionText.value(new Amount(tenth, first.unit()));
    String measured = PrescriptionText.value(first.distanceTo(now));
    return change.isShown(first, now)
        ? "The difference of "
            + measured
            + " is more than measuring alone makes (about "
            + least
            + ")."
        : "No change is shown: measuring alone makes differences of about "
            + least
            + ", this one is "
            + measured
            + ".";
  }
}
