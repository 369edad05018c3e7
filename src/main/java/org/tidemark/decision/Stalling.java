package org.tidemark.decision;

import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import org.tidemark.decision.Change.Considered;
import org.tidemark.decision.PlanState.Stall;
import org.tidemark.demand.Ratio;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.programme.PlateauOption;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Stage;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Value;
import org.tidemark.trend.Plateau;
import org.tidemark.trend.RangeSeries;
import org.tidemark.trend.Reading;
import org.tidemark.trend.Trend;

/**
 * Finds what to try when a range short of its goal has stood still although sessions settle: the
 * first of the programme's options that the person can do and no clinician has answered yet.
 */
final class Stalling {
  /** For so many days the plan has stayed as it is before a stall is looked for. */
  static final int STAYED_DAYS = Plateau.LEAST_WEEKS * 7;

  /** The newest reading is no older than this many days (assumption). */
  static final int CURRENT_DAYS = 28;

  /**
   * What to try.
   *
   * @param change the change; empty when the programme gives it time
   * @param lines what would stand
   * @param considered the options that were passed over, with why
   * @param demand what the change asks beside what is in force, where that can be told
   */
  record Try(
      Optional<Change> change,
      List<Line> lines,
      List<Considered> considered,
      Optional<Ratio> demand) {}

  private final Situation situation;
  private final Surroundings around;
  private final List<Line> lines;
  private final List<Considered> considered = new ArrayList<>();

  private Stalling(Situation situation) {
    this.situation = situation;
    this.around = situation.around;
    this.lines = situation.state.standing().lines();
  }

  /**
   * What is known of a stall now, looked at again when there is a newer reading to look at; empty
   * when this is not the time for one.
   */
  static Optional<Stall> look(Situation situation) {
    return isQuietAndLong(situation)
        ? shortOfGoal(situation).map(series -> look(situation.state.stall(), series))
        : Optional.empty();
  }

  private static Stall look(Stall known, RangeSeries series) {
    OffsetDateTime newest = newest(series).when();
    return known.lookedAt().filter(newest::isEqual).isPresent()
        ? known
        : new Stall(
            known.tried(), Optional.of(newest), Plateau.find(Trend.of(series)).map(Plateau::since));
  }

  /** What to try in a stall; empty when the programme has no option left. */
  static Optional<Try> next(Situation situation) {
    return new Stalling(situation).next();
  }

  private static boolean isQuietAndLong(Situation situation) {
    OffsetDateTime stayed = situation.at().minusDays(STAYED_DAYS);
    return situation.state.standing().lines().stream()
            .noneMatch(line -> line.changed().isAfter(stayed))
        && situation.state.standing().lines().stream()
            .filter(line -> line.role() == Exercise.Role.LEAD)
            .allMatch(line -> situation.evidenceSuffices(line, 1) && situation.adheres(line));
  }

  /** The current readings of the first range that is short of its goal. */
  private static Optional<RangeSeries> shortOfGoal(Situation situation) {
    OffsetDateTime current = situation.at().minusDays(CURRENT_DAYS);
    for (GoalDefinition goal : situation.around.programme().goals()) {
      Optional<RangeSeries> series = RangeCourse.series(goal, situation.state.person());
      if (series.isPresent()
          && !GoalReading.read(goal, situation.state).met()
          && !newest(series.get()).when().isBefore(current)) {
        return series;
      }
    }
    return Optional.empty();
  }

  private static Reading newest(RangeSeries series) {
    return series.readings().get(series.readings().size() - 1);
  }

  private Optional<Try> next() {
    for (PlateauOption option : around.programme().plateauOptions()) {
      if (situation.state.stall().tried().contains(option.code())) {
        continue;
      }
      if (option.variation().isBlank()) {
        return Optional.of(
            new Try(Optional.empty(), lines, List.copyOf(considered), Optional.empty()));
      }
      Optional<Try> found = option.variable().isBlank() ? added(option) : harder(option);
      if (found.isPresent()) {
        return found;
      }
    }
    return Optional.empty();
  }

  /** An exercise beside what stands. One that bears load is not for whoever bears none yet. */
  private Optional<Try> added(PlateauOption option) {
    boolean stands =
        lines.stream().anyMatch(line -> line.prescription().variation().equals(option.variation()));
    Optional<Variation> variation = around.programme().variation(option.variation());
    boolean tooEarly = variation.filter(Variation::loadBearing).isPresent() && !loadBorne();
    if (stands || tooEarly) {
      return Optional.empty();
    }
    for (Stage stage : around.programme().stages()) {
      Optional<Exercise> exercise = around.programme().exercise(stage.code(), option.variation());
      if (exercise.isEmpty()) {
        continue;
      }
      Change change = change(option, "");
      if (!around.hold(exercise.get().conditions())) {
        return passed(change, Reason.REQUIREMENT_NOT_MET);
      }
      Optional<Line> line = around.begin(stage, exercise.get(), lines);
      if (line.isEmpty()) {
        return passed(change, Reason.NO_FEASIBLE_CHANGE);
      }
      if (!around.forbidding(List.of(line.get())).isEmpty()) {
        return passed(change, Reason.PRECAUTION_LIMITS);
      }
      List<Line> after = new ArrayList<>(anew());
      after.add(line.get());
      return found(change, after, Optional.empty());
    }
    return Optional.empty();
  }

  private boolean loadBorne() {
    return lines.stream()
        .anyMatch(line -> around.exercise(line.prescription()).variation().loadBearing());
  }

  /** One variable of what stands a step harder, which the stage itself does not make harder. */
  private Optional<Try> harder(PlateauOption option) {
    for (Line line : lines) {
      Prescription now = line.prescription();
      Exercise exercise = around.exercise(now);
      Value value = now.setting().get(option.variable());
      if (!now.variation().equals(option.variation())
          || value == null
          || exercise.progresses().contains(option.variable())) {
        continue;
      }
      ProgressionVariable variable = exercise.variation().variable(option.variable()).orElseThrow();
      Optional<Value> next = around.harder(variable, value);
      Change change = change(option, Change.text(value));
      if (next.isEmpty()) {
        return passed(change, Reason.NO_FEASIBLE_CHANGE);
      }
      Setting setting = now.setting().with(variable.code(), next.get());
      if (!around.hold(variable.requires())) {
        return passed(change, Reason.REQUIREMENT_NOT_MET);
      }
      if (!around.allows(exercise.variation(), setting)) {
        return passed(change, Reason.PRECAUTION_LIMITS);
      }
      Optional<Ratio> demand = around.demand(exercise.variation(), now.setting(), setting);
      if (around.exceeds(demand, variable)) {
        considered.add(new Considered(change, Reason.STEP_TOO_BIG, Optional.empty(), demand));
        return Optional.empty();
      }
      Prescription set = new Prescription(now.stage(), now.variation(), setting, now.dose());
      List<Line> after =
          lines.stream()
              .map(other -> other == line ? other.set(set, around.at()) : other.anew(around.at()))
              .toList();
      return found(change, after, demand);
    }
    return Optional.empty();
  }

  private Optional<Try> found(Change change, List<Line> after, Optional<Ratio> demand) {
    return Optional.of(new Try(Optional.of(change), after, List.copyOf(considered), demand));
  }

  private Optional<Try> passed(Change change, Reason why) {
    considered.add(Considered.of(change, why));
    return Optional.empty();
  }

  private List<Line> anew() {
    return lines.stream().map(line -> line.anew(around.at())).toList();
  }

  private static Change change(PlateauOption option, String from) {
    return new Change(
        Change.Kind.STALL, option.variation(), option.variable(), from, option.code(), List.of());
  }
}
