package org.tidemark.cohort;

import java.util.List;
import java.util.OptionalInt;
import java.util.SplittableRandom;
import java.util.function.Function;
import java.util.function.ToDoubleFunction;
import java.util.function.ToIntFunction;
import org.tidemark.trend.KaplanMeier;

/**
 * The figures of one policy, with 95 % intervals from resampling people (percentile bootstrap).
 *
 * @param people how many people it is about
 * @param flaresPerYear flared sessions for each year in sight
 * @param flaresPerExercise flared sessions for each 365 sessions
 * @param episodesPerYear flares with a quiet week before, for each year in sight
 * @param soreMornings mornings with pain above rest, for each year in sight
 * @param goalWeeks median time to the goal, weeks
 * @param reached share that has reached the goal by the end
 * @param reachedLast share that has reached the end of the programme
 * @param withheld share of days on which nothing was asked
 * @param eased share of days on which less was asked than before
 * @param flaresBesideRules flares a year, as a multiple of those under the first policy
 * @param curve who has not reached the goal yet, over days
 * @param sessionsPerWeek sessions done in a week in sight
 * @param droppedOut share that dropped out before the end
 */
record Figures(
    int people,
    Band flaresPerYear,
    Band flaresPerExercise,
    Band episodesPerYear,
    Band soreMornings,
    Band goalWeeks,
    Band reached,
    Band reachedLast,
    Band withheld,
    Band eased,
    Band flaresBesideRules,
    KaplanMeier curve,
    double sessionsPerWeek,
    double droppedOut) {
  private static final int RESAMPLES = 400;
  private static final double DAYS_PER_YEAR = 365;

  /**
   * The figures.
   *
   * @param outcomes of one policy
   * @param rules those of the first policy, of the same people in the same order
   * @param weeks how long each was followed at most
   */
  static Figures of(List<Outcome> outcomes, List<Outcome> rules, int weeks) {
    int days = 7 * weeks;
    Resampler all = new Resampler(outcomes.size());
    KaplanMeier curve = KaplanMeier.of(times(outcomes, Outcome::goalDay));
    return new Figures(
        outcomes.size(),
        all.band(rows -> rate(pick(outcomes, rows), Outcome::flares, Outcome::daysInSight)),
        all.band(rows -> rate(pick(outcomes, rows), Outcome::flares, Outcome::sessions)),
        all.band(rows -> rate(pick(outcomes, rows), Outcome::episodes, Outcome::daysInSight)),
        all.band(rows -> rate(pick(outcomes, rows), Outcome::soreMornings, Outcome::daysInSight)),
        all.band(rows -> medianWeeks(pick(outcomes, rows))),
        all.band(rows -> reached(pick(outcomes, rows), Outcome::goalDay, days)),
        all.band(rows -> reached(pick(outcomes, rows), Outcome::lastGoalDay, days)),
        all.band(rows -> share(pick(outcomes, rows), Outcome::withheldDays)),
        all.band(rows -> share(pick(outcomes, rows), Outcome::easedDays)),
        all.band(
            rows ->
                rate(pick(outcomes, rows), Outcome::flares, Outcome::daysInSight)
                    / rate(pick(rules, rows), Outcome::flares, Outcome::daysInSight)),
        curve,
        7 * share(outcomes, Outcome::sessions),
        (double) outcomes.stream().filter(o -> o.daysInSight() < days).count() / outcomes.size());
  }

  /** Time to the goal, or until lost from sight. */
  static List<KaplanMeier.Time> times(
      List<Outcome> outcomes, Function<Outcome, OptionalInt> goalDay) {
    return outcomes.stream()
        .map(
            outcome -> {
              OptionalInt day = goalDay.apply(outcome);
              return new KaplanMeier.Time(day.orElse(outcome.daysInSight()), day.isPresent());
            })
        .toList();
  }

  private static double medianWeeks(List<Outcome> outcomes) {
    return KaplanMeier.of(times(outcomes, Outcome::goalDay)).median().orElse(Double.NaN) / 7;
  }

  private static double reached(
      List<Outcome> outcomes, Function<Outcome, OptionalInt> goalDay, int days) {
    return 1 - KaplanMeier.of(times(outcomes, goalDay)).shareAfter(days);
  }

  private static double rate(
      List<Outcome> outcomes, ToIntFunction<Outcome> count, ToIntFunction<Outcome> exposure) {
    return DAYS_PER_YEAR * sum(outcomes, count) / sum(outcomes, exposure);
  }

  private static double share(List<Outcome> outcomes, ToIntFunction<Outcome> days) {
    return sum(outcomes, days) / sum(outcomes, Outcome::daysInSight);
  }

  private static double sum(List<Outcome> outcomes, ToIntFunction<Outcome> of) {
    double sum = 0;
    for (Outcome outcome : outcomes) {
      sum += of.applyAsInt(outcome);
    }
    return sum;
  }

  private static List<Outcome> pick(List<Outcome> outcomes, int[] rows) {
    Outcome[] picked = new Outcome[rows.length];
    for (int i = 0; i < rows.length; i++) {
      picked[i] = outcomes.get(rows[i]);
    }
    return List.of(picked);
  }

  /** The same resamples of people for every figure and every policy. */
  private static final class Resampler {
    private final int[] everyone;
    private final int[][] resamples = new int[RESAMPLES][];

    Resampler(int people) {
      everyone = java.util.stream.IntStream.range(0, people).toArray();
      SplittableRandom random = new SplittableRandom(people);
      for (int r = 0; r < RESAMPLES; r++) {
        resamples[r] = random.ints(people, 0, people).toArray();
      }
    }

    Band band(ToDoubleFunction<int[]> figure) {
      double[] values = java.util.Arrays.stream(resamples).parallel().mapToDouble(figure).toArray();
      return Band.of(figure.applyAsDouble(everyone), values);
    }
  }
}
