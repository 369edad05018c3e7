package org.tidemark.trend;

import java.util.ArrayList;
import java.util.Collection;
import java.util.Comparator;
import java.util.List;
import java.util.Optional;
import java.util.OptionalDouble;

/**
 * How many have not arrived yet, over time, when some are lost from sight before they do: the
 * product-limit estimate (Kaplan and Meier 1958, J Am Stat Assoc 53:457-81) with Greenwood's
 * standard error.
 *
 * @param steps the times at which someone arrived, in rising order
 */
public record KaplanMeier(List<Step> steps) {
  /** A half, and what a product of fractions can be off. */
  private static final double HALF = 0.5 + 1e-9;

  /**
   * One person's time.
   *
   * @param time time until arrival, or until lost from sight; 0 or more, in any unit
   * @param arrived whether the person arrived then; otherwise the time is a lower limit
   */
  public record Time(double time, boolean arrived) {
    public Time {
      if (!(time >= 0)) {
        throw new IllegalArgumentException("a time is 0 or more, was " + time);
      }
    }
  }

  /**
   * A time at which someone arrived.
   *
   * @param time the time
   * @param atRisk people in sight just before, the lost of the same time included
   * @param arrived how many of them arrived
   * @param share share not arrived after it, 0 to 1
   * @param standardError Greenwood's standard error of the share; not a number when no one is left
   */
  public record Step(double time, int atRisk, int arrived, double share, double standardError) {}

  public KaplanMeier {
    steps = List.copyOf(steps);
  }

  /** The estimate from people's times, in any order. */
  public static KaplanMeier of(Collection<Time> times) {
    List<Time> sorted = times.stream().sorted(Comparator.comparingDouble(Time::time)).toList();
    List<Step> steps = new ArrayList<>();
    double share = 1;
    double greenwood = 0;
    int i = 0;
    while (i < sorted.size()) {
      double now = sorted.get(i).time();
      int atRisk = sorted.size() - i;
      int arrived = 0;
      for (; i < sorted.size() && sorted.get(i).time() == now; i++) {
        arrived += sorted.get(i).arrived() ? 1 : 0;
      }
      if (arrived > 0) {
        share *= 1 - (double) arrived / atRisk;
        greenwood += arrived / ((double) atRisk * (atRisk - arrived));
        steps.add(new Step(now, atRisk, arrived, share, share * Math.sqrt(greenwood)));
      }
    }
    return new KaplanMeier(steps);
  }

  /** Share not arrived after a time, 0 to 1. */
  public double shareAfter(double time) {
    return lastUntil(time).map(Step::share).orElse(1.0);
  }

  /** The earliest time at which half or fewer have not arrived; empty when it is not seen. */
  public OptionalDouble median() {
    return steps.stream().filter(step -> step.share() <= HALF).mapToDouble(Step::time).findFirst();
  }

  private Optional<Step> lastUntil(double time) {
    return steps.stream().filter(step -> step.time() <= time).reduce((earlier, later) -> later);
  }
}
