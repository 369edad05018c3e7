package org.tidemark.decision;

import java.util.ArrayList;
import java.util.Collections;
import java.util.List;
import java.util.Optional;
import org.tidemark.decision.PlanState.Standing;
import org.tidemark.decision.PlanState.UpwardChange;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Setting;
import org.tidemark.quantity.Value;

/**
 * Finds something easier: the last upward change undone, or, where there is none, one easing
 * change. Nothing that is in force is ever raised by it.
 */
final class Easing {

  /**
   * Something easier.
   *
   * @param standing what stands after it
   * @param change what changed
   * @param undone the upward change that was undone, if one was
   */
  record Eased(Standing standing, Change change, Optional<UpwardChange> undone) {}

  private Easing() {}

  /**
   * Something easier that can be done with what is at hand and lies inside every precaution; empty
   * when there is nothing.
   */
  static Optional<Eased> ease(Surroundings around, Standing standing) {
    List<UpwardChange> path = new ArrayList<>(standing.path());
    while (!path.isEmpty()) {
      UpwardChange newest = path.remove(path.size() - 1);
      Optional<List<Line>> before =
          feasible(around, notAbove(around, newest.before(), standing.lines()))
              .filter(lines -> !same(lines, standing.lines()));
      if (before.isPresent() && around.forbidding(before.get()).isEmpty()) {
        Change change =
            new Change(
                Change.Kind.UNDONE,
                newest.change().variation(),
                newest.change().variable(),
                newest.change().to(),
                newest.change().from(),
                List.of());
        return Optional.of(
            new Eased(standing.changed(before.get(), path), change, Optional.of(newest)));
      }
    }
    return oneEasier(around, standing);
  }

  private static boolean same(List<Line> lines, List<Line> others) {
    return lines.stream()
        .map(Line::prescription)
        .toList()
        .equals(others.stream().map(Line::prescription).toList());
  }

  /**
   * The given exercises with whatever is harder than in force taken down to what is in force: a
   * step back may hold a value that has been eased since, and must not bring it back.
   */
  static List<Line> notAbove(Surroundings around, List<Line> lines, List<Line> inForce) {
    return lines.stream().map(line -> notAbove(around, line, inForce)).toList();
  }

  private static Line notAbove(Surroundings around, Line line, List<Line> inForce) {
    Prescription wanted = line.prescription();
    Optional<Line> same =
        inForce.stream()
            .filter(other -> other.prescription().variation().equals(wanted.variation()))
            .findFirst();
    if (same.isEmpty()) {
      return line;
    }
    Prescription now = same.get().prescription();
    Setting setting = wanted.setting();
    for (ProgressionVariable variable : around.exercise(wanted).variation().variables()) {
      Value value = setting.get(variable.code());
      Value present = now.setting().get(variable.code());
      if (value != null && present != null && variable.compare(value, present) > 0) {
        setting = setting.with(variable.code(), present);
      }
    }
    Dose less = now.dose().volume() < wanted.dose().volume() ? now.dose() : wanted.dose();
    Dose dose =
        less.timesPerWeek(Math.min(now.dose().timesPerWeek(), wanted.dose().timesPerWeek()));
    Prescription easier = new Prescription(wanted.stage(), wanted.variation(), setting, dose);
    return easier.equals(now) ? same.get().anew(around.at()) : line.set(easier, around.at());
  }

  /**
   * The same exercises moved to the nearest easier setting inside every precaution; what has none
   * is left out. Empty when the lead has none.
   */
  static Optional<List<Line>> inside(Surroundings around, List<Line> lines) {
    List<Line> moved = new ArrayList<>();
    boolean led = false;
    for (Line line : lines) {
      Prescription p = line.prescription();
      Optional<Setting> setting = around.inside(around.exercise(p).variation(), p.setting());
      if (setting.isEmpty()) {
        continue;
      }
      moved.add(
          setting.get().equals(p.setting())
              ? line.anew(around.at())
              : line.set(
                  new Prescription(p.stage(), p.variation(), setting.get(), p.dose()),
                  around.at()));
      led |= line.role() == Exercise.Role.LEAD;
    }
    return led ? Optional.of(moved) : Optional.empty();
  }

  private static Optional<Eased> oneEasier(Surroundings around, Standing standing) {
    List<Line> leadFirst = new ArrayList<>(standing.lines());
    leadFirst.sort(java.util.Comparator.comparing(Line::role));
    for (Line line : leadFirst) {
      Exercise exercise = around.exercise(line.prescription());
      List<ProgressionVariable> lastFirst = new ArrayList<>(exercise.progressing());
      Collections.reverse(lastFirst);
      for (ProgressionVariable variable : lastFirst) {
        Value value = line.prescription().setting().get(variable.code());
        Optional<Value> easier = value == null ? Optional.empty() : around.easier(variable, value);
        if (easier.isPresent()) {
          Setting setting = line.prescription().setting().with(variable.code(), easier.get());
          Change change =
              new Change(
                  Change.Kind.EASED,
                  exercise.variation().code(),
                  variable.code(),
                  Change.text(value),
                  Change.text(easier.get()),
                  List.of(variable.code()));
          Optional<Eased> eased =
              replaced(around, standing, line, setting, line.prescription().dose(), change);
          if (eased.isPresent()) {
            return eased;
          }
        }
      }
      Optional<Dose> less = exercise.variation().ladder().down(line.prescription().dose());
      if (less.isPresent()) {
        Change change =
            new Change(
                Change.Kind.EASED,
                exercise.variation().code(),
                "",
                Choosing.describe(line.prescription().dose()),
                Choosing.describe(less.get()),
                List.of());
        Optional<Eased> eased =
            replaced(around, standing, line, line.prescription().setting(), less.get(), change);
        if (eased.isPresent()) {
          return eased;
        }
      }
    }
    return Optional.empty();
  }

  private static Optional<Eased> replaced(
      Surroundings around,
      Standing standing,
      Line line,
      Setting setting,
      Dose dose,
      Change change) {
    Prescription easier =
        new Prescription(
            line.prescription().stage(), line.prescription().variation(), setting, dose);
    List<Line> after =
        standing.lines().stream()
            .map(other -> other == line ? other.set(easier, around.at()) : other.anew(around.at()))
            .toList();
    return around.forbidding(after).isEmpty()
        ? Optional.of(new Eased(standing.changed(after, standing.path()), change, Optional.empty()))
        : Optional.empty();
  }

  /**
   * The same exercises with each value that can no longer be made moved to the nearest easier one
   * that can; empty when there is none. Their evidence begins anew.
   */
  static Optional<List<Line>> feasible(Surroundings around, List<Line> lines) {
    List<Line> made = new ArrayList<>();
    for (Line line : lines) {
      Prescription p = line.prescription();
      Setting setting = p.setting();
      for (ProgressionVariable variable : around.exercise(p).variation().variables()) {
        Value value = setting.get(variable.code());
        if (value == null || around.feasible(variable).contains(value)) {
          continue;
        }
        Optional<Value> easier = around.easier(variable, value);
        if (easier.isEmpty()) {
          return Optional.empty();
        }
        setting = setting.with(variable.code(), easier.get());
      }
      made.add(
          setting.equals(p.setting())
              ? line.anew(around.at())
              : line.set(
                  new Prescription(p.stage(), p.variation(), setting, p.dose()), around.at()));
    }
    return made.isEmpty() ? Optional.empty() : Optional.of(made);
  }
}
