package org.tidemark.fhir;

import ca.uhn.fhir.model.api.TemporalPrecisionEnum;
import java.time.LocalDate;
import java.time.OffsetDateTime;
import java.util.List;
import java.util.Optional;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.DateType;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.Goal.GoalTargetComponent;
import org.hl7.fhir.r4.model.Narrative;
import org.hl7.fhir.r4.model.Range;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Type;
import org.tidemark.decision.GoalReading;
import org.tidemark.decision.RangeFigures;
import org.tidemark.programme.Direction;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;
import org.tidemark.trend.RangeChange;

/**
 * Writes how far a goal is. The same reading gives the same Goal, so that nothing needs to be
 * stored when nothing moved.
 */
public final class GoalWriter {
  private static final String BASIS = Codes.structure("target-basis");
  private static final String OTHER_SIDE = "other-side-flexion";

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

  record GoalSaid(
      String title,
      String achievement,
      String since,
      Optional<String> ownWords,
      String target,
      Optional<String> first,
      Optional<String> now,
      Optional<String> change,
      String plan,
      List<String> cautions) {}

  /**
   * The goal as of a time. Achieved from the day it is first met, sustaining when it is still met
   * on a later day. Improving only when the range it is about has changed for the better by more
   * than measuring alone makes (MDC95); otherwise in progress. A goal whose target is not known is
   * never achieved.
   *
   * @param range how the range that the goal is about has gone, if it is about one
   * @param former the Goal as it is stored, if it is; what someone else has added to it stays
   * @param asOf the time of the newest fact
   */
  public static Goal write(
      PlanIdentity plan,
      GoalReading reading,
      Optional<RangeFigures> range,
      Optional<Goal> former,
      OffsetDateTime asOf) {
    Achievement achievement = achievement(reading, range, former, asOf.toLocalDate());
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
    reached(goal, achievement, former, asOf);
    if (!goal.getCategory().stream()
        .anyMatch(c -> c.hasCoding(Codes.GOAL_CATEGORY, "physiotherapy"))) {
      goal.addCategory(Codes.concept(Codes.GOAL_CATEGORY, "physiotherapy", "Physiotherapy"));
    }
    if (!goal.hasDescription()) {
      goal.setDescription(new CodeableConcept().setText(reading.goal().title()));
    }
    goal.setSubject(new Reference(plan.subject()));
    if (!goal.hasStart()) {
      goal.setStart(DateTimes.date(asOf));
    }
    target(goal, plan, reading);
    goal.setText(text(plan, reading, range, achievement, goal));
    return goal;
  }

  /** Since when the goal has been met without a break; said only while it is. */
  private static void reached(
      Goal goal, Achievement achievement, Optional<Goal> former, OffsetDateTime asOf) {
    if (achievement != Achievement.ACHIEVED && achievement != Achievement.SUSTAINING) {
      goal.getExtension().removeIf(known -> known.getUrl().equals(Codes.GOAL_REACHED));
    } else if (!goal.hasExtension(Codes.GOAL_REACHED)) {
      Optional<LocalDate> since =
          former.filter(Achievement.ACHIEVED::of).flatMap(GoalWriter::statusDay);
      goal.addExtension(
          new Extension(
              Codes.GOAL_REACHED,
              since
                  .map(day -> new DateType(day.toString()))
                  .orElseGet(() -> DateTimes.date(asOf))));
    }
  }

  private static void set(Goal goal, Extension extension) {
    List<Extension> known = goal.getExtensionsByUrl(extension.getUrl());
    if (known.isEmpty()) {
      goal.addExtension(extension);
      return;
    }
    known.get(0).setValue(extension.getValue());
    goal.getExtension().removeAll(known.subList(1, known.size()));
  }

  private static Achievement achievement(
      GoalReading reading, Optional<RangeFigures> range, Optional<Goal> former, LocalDate day) {
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
    boolean improving =
        range
            .filter(figures -> figures.change().verdict() == RangeChange.Verdict.IMPROVED)
            .isPresent();
    return improving ? Achievement.IMPROVING : Achievement.IN_PROGRESS;
  }

  /** Since when the status holds, in words; as it is written where it is no single day. */
  private static String since(Texts texts, Goal goal) {
    return statusDay(goal).map(texts::day).orElse(goal.getStatusDateElement().getValueAsString());
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
    if (!target.hasMeasure()) {
      target.setMeasure(
          Codes.concept(system, definition.measure(), null).setText(measure(plan, definition)));
    }
    target.setDetail(
        reading
            .target()
            .map(wanted -> detail(plan.texts(), wanted.value(), definition.direction()))
            .orElse(null));
    target.removeExtension(BASIS);
    reading
        .target()
        .ifPresent(
            wanted ->
                target.addExtension(new Extension(BASIS, new CodeType(wanted.basis().code()))));
  }

  /** Why this is what is to be reached, as a sentence for the one it is about. */
  private static String because(Texts texts, GoalReading.Target target) {
    return switch (target.basis()) {
      case CLINICIAN -> texts.of("goal.by.clinician");
      case PROGRAMME -> texts.of("goal.by.programme");
      case MEASURED ->
          target.by().equals(OTHER_SIDE)
              ? texts.of("goal.by.other-side")
              : texts.of("goal.by.measured", texts.item(target.by()));
      case COMPUTED -> texts.of("goal.by.computed");
      case FUNCTIONAL -> texts.of("goal.by.functional", target.by());
    };
  }

  /** An amount is a range that is open on its better side: anything at or beyond it will do. */
  private static Type detail(Texts texts, Value value, Direction better) {
    if (value instanceof Amount amount) {
      Range range = new Range();
      return better == Direction.INCREASE
          ? range.setLow(Extensions.quantity(amount))
          : range.setHigh(Extensions.quantity(amount));
    }
    return value instanceof Grade
        ? new CodeableConcept().setText(texts.value(value))
        : new BooleanType(((YesNo) value).yes());
  }

  private static String measure(PlanIdentity plan, GoalDefinition goal) {
    return plan.programme().stages().stream()
        .flatMap(stage -> stage.exercises().stream())
        .flatMap(exercise -> exercise.variation().variable(goal.measure()).stream())
        .map(ProgressionVariable::title)
        .findFirst()
        .orElseGet(() -> plan.texts().item(goal.measure()));
  }

  private static Narrative text(
      PlanIdentity plan,
      GoalReading reading,
      Optional<RangeFigures> range,
      Achievement achievement,
      Goal written) {
    GoalDefinition goal = reading.goal();
    Texts texts = plan.texts();
    return NarrativePage.GOAL.narrative(
        texts,
        new GoalSaid(
            goal.title(),
            texts.find("achievement." + achievement.code).orElse(achievement.display),
            since(texts, written),
            Optional.ofNullable(written.getDescription().getText())
                .filter(own -> !own.equals(goal.title())),
            target(plan, reading),
            reading.first().map(texts::value),
            reading.now().map(texts::value),
            range
                .filter(figures -> !reading.first().equals(reading.now()))
                .map(figures -> RangeText.change(texts, figures.change())),
            PlanText.title(plan),
            SafetyText.cautions(texts)));
  }

  /** What is to be reached, in a sentence. */
  private static String target(PlanIdentity plan, GoalReading reading) {
    GoalDefinition goal = reading.goal();
    Texts texts = plan.texts();
    String measure = texts.within(measure(plan, goal));
    return reading
        .target()
        .map(
            target ->
                texts.of(
                    "goal.target" + sense(target.value(), goal.direction()),
                    measure,
                    texts.value(target.value()),
                    because(texts, target)))
        .orElse(texts.of("goal.target.open", measure));
  }

  private static String sense(Value value, Direction better) {
    if (!(value instanceof Amount)) {
      return "";
    }
    return better == Direction.INCREASE ? ".more" : ".less";
  }
}
