package org.tidemark.programme;

import java.util.List;
import java.util.Optional;

/**
 * The doses of a variation from little to much.
 *
 * @param steps the doses, each of more volume than the one before, at least one
 * @param base index of the dose that is built first, before anything else is made harder
 */
public record DoseLadder(List<Dose> steps, int base) {
  public DoseLadder {
    steps = List.copyOf(steps);
    if (steps.isEmpty() || base < 0 || base >= steps.size()) {
      throw new IllegalArgumentException("a dose ladder needs a step, and its base among them");
    }
    for (int i = 1; i < steps.size(); i++) {
      if (steps.get(i).volume() <= steps.get(i - 1).volume()) {
        throw new IllegalArgumentException("each dose must be more than the one before it");
      }
    }
  }

  /** The dose that is built first. */
  public Dose baseDose() {
    return steps.get(base);
  }

  public boolean isBelowBase(Dose dose) {
    return dose.volume() < baseDose().volume();
  }

  /** The next dose up, as often in the week as now; empty at the top. */
  public Optional<Dose> up(Dose dose) {
    return steps.stream()
        .filter(step -> step.volume() > dose.volume())
        .findFirst()
        .map(step -> step.timesPerWeek(dose.timesPerWeek()));
  }

  /** The next dose down, as often in the week as now; empty at the bottom. */
  public Optional<Dose> down(Dose dose) {
    return steps.stream()
        .filter(step -> step.volume() < dose.volume())
        .reduce((first, second) -> second)
        .map(step -> step.timesPerWeek(dose.timesPerWeek()));
  }
}
