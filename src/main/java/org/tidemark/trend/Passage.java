package org.tidemark.trend;

import java.util.Arrays;
import java.util.List;
import java.util.OptionalDouble;
import java.util.SplittableRandom;
import org.hipparchus.linear.RealMatrix;
import org.hipparchus.util.FastMath;
import org.tidemark.trend.LevelFilter.State;

/**
 * First passage of a range through a goal, by simulation of the model from where the trend stands,
 * with all that is uncertain of level and slope. A path goes in steps of weeks; that it touched the
 * goal between two steps below it has the probability of a Brownian bridge, {@code exp(−2 · a · b /
 * variance)} with {@code a} and {@code b} what is missing at both ends (Karatzas and Shreve 1991,
 * Brownian Motion and Stochastic Calculus).
 */
final class Passage {
  /** Paths: the standard error of a chance is at most 1.6 %. */
  static final int PATHS = 1000;

  /** How far ahead is looked, in weeks. */
  static final double HORIZON_WEEKS = 156;

  /** The first year goes by weeks, the rest by four weeks. */
  private static final int WEEKLY_STEPS = 52;

  private static final double LONG_STEP_WEEKS = 4;
  private static final int STEPS =
      WEEKLY_STEPS + (int) ((HORIZON_WEEKS - WEEKLY_STEPS) / LONG_STEP_WEEKS);

  /** A bridge that touches with a chance below {@code exp(-this)} is not thrown for. */
  private static final double NEVER = 12;

  /** Days of arrival in rising order, infinite for a path that does not arrive. */
  private final double[] days;

  private Passage(double[] days) {
    this.days = days;
  }

  /** A step of the model: what it does, and the Cholesky factor of its noise. */
  private record Step(
      double weeks,
      double carry,
      double slopeLeft,
      double bridgeVariance,
      double levelNoise,
      double slopeByLevel,
      double slopeNoise) {
    static Step of(DampedLevel model, double weeks) {
      RealMatrix noise = model.noise(weeks);
      double level = Math.sqrt(noise.getEntry(0, 0));
      double between = noise.getEntry(0, 1) / level;
      return new Step(
          weeks,
          model.carry(weeks),
          model.slopeLeft(weeks),
          model.levelVariance() * weeks,
          level,
          between,
          Math.sqrt(Math.max(0, noise.getEntry(1, 1) - between * between)));
    }

    /** Whether a path touches the goal between two ends that are short of it. */
    boolean touches(double before, double after, SplittableRandom chance) {
      double unlikely = 2 * before * after / bridgeVariance;
      return unlikely < NEVER && chance.nextDouble() < FastMath.exp(-unlikely);
    }
  }

  /** Simulates the passage from a trend that is short of the goal. */
  static Passage simulate(Trend trend, double goalDegrees) {
    return simulate(
        trend.candidates(),
        goalDegrees,
        trend.series().better().sign(),
        seed(trend.series(), goalDegrees));
  }

  /**
   * Simulates the passage of candidates.
   *
   * @param candidates with weights that add up to 1; each gets its share of the paths
   * @param sign 1 when the goal is above, -1 when it is below
   */
  static Passage simulate(List<Candidate> candidates, double goalDegrees, int sign, long seed) {
    SplittableRandom chance = new SplittableRandom(seed);
    double[] days = new double[PATHS];
    int path = 0;
    double believed = 0;
    for (Candidate candidate : candidates) {
      believed += candidate.weight();
      Walk walk = Walk.of(candidate, sign, goalDegrees);
      for (; path < Math.min(PATHS, Math.round(believed * PATHS)); path++) {
        days[path] = Trend.DAYS_PER_WEEK * walk.weeksUntil(chance);
      }
    }
    Arrays.sort(days);
    return new Passage(days);
  }

  /** Days within which a share of the paths arrives; empty when it is not within the horizon. */
  OptionalDouble daysUntil(double share) {
    double found = days[(int) Math.ceil(share * PATHS) - 1];
    return Double.isInfinite(found) ? OptionalDouble.empty() : OptionalDouble.of(found);
  }

  /** Share of the paths that arrive within a number of days, 0 to 1. */
  double chanceWithin(double limitDays) {
    return Arrays.stream(days).filter(day -> day <= limitDays).count() / (double) PATHS;
  }

  /**
   * The paths of one candidate.
   *
   * @param missing what is missing to the goal in the mean
   * @param slope slope towards the goal in the mean, a week
   * @param levelSpread standard deviation of the level
   * @param slopeByLevel how far the slope goes with a level one deviation up
   * @param slopeSpread standard deviation of the slope beyond that
   */
  private record Walk(
      double missing,
      double slope,
      double levelSpread,
      double slopeByLevel,
      double slopeSpread,
      Step week,
      Step longStep) {
    static Walk of(Candidate candidate, int sign, double goalDegrees) {
      State state = candidate.state();
      DampedLevel model = candidate.model();
      double levelSpread = Math.sqrt(state.levelVariance());
      double slopeByLevel = state.covariance() / levelSpread;
      return new Walk(
          sign * (goalDegrees - state.level()),
          sign * state.slope(),
          levelSpread,
          slopeByLevel,
          Math.sqrt(Math.max(0, state.slopeVariance() - slopeByLevel * slopeByLevel)),
          Step.of(model, 1),
          Step.of(model, LONG_STEP_WEEKS));
    }

    /** Weeks until a path arrives; infinite when it does not within the horizon. */
    double weeksUntil(SplittableRandom chance) {
      double ahead = NormalTable.next(chance);
      double left = missing - levelSpread * ahead;
      double speed = slope + slopeByLevel * ahead + slopeSpread * NormalTable.next(chance);
      double gone = 0;
      for (int i = 0; i < STEPS && left > 0; i++) {
        Step step = i < WEEKLY_STEPS ? week : longStep;
        double byLevel = NormalTable.next(chance);
        double next = left - speed * step.carry() - step.levelNoise() * byLevel;
        if (next <= 0) {
          return gone + step.weeks() * left / (left - next);
        }
        if (step.touches(left, next, chance)) {
          return gone + step.weeks() / 2;
        }
        speed =
            speed * step.slopeLeft()
                + step.slopeByLevel() * byLevel
                + step.slopeNoise() * NormalTable.next(chance);
        left = next;
        gone += step.weeks();
      }
      return left > 0 ? Double.POSITIVE_INFINITY : 0;
    }
  }

  /**
   * A seed from the readings, to a millionth of a degree and a second: the same data, the same
   * answer. Only days since the first reading and distances from the goal enter, so that moving all
   * of them changes nothing.
   */
  private static long seed(RangeSeries series, double goalDegrees) {
    long seed = 0;
    for (Reading reading : series.readings()) {
      seed = mix(seed, Math.round(series.day(reading) * 86_400));
      seed = mix(seed, Math.round((goalDegrees - reading.degrees()) * 1e6));
      seed = mix(seed, reading.method().code().hashCode());
    }
    return seed;
  }

  /** The finalizer of SplitMix64 (Steele, Lea and Flood 2014, OOPSLA). */
  private static long mix(long seed, long value) {
    long z = seed + value + 0x9E3779B97F4A7C15L;
    z = (z ^ (z >>> 30)) * 0xBF58476D1CE4E5B9L;
    z = (z ^ (z >>> 27)) * 0x94D049BB133111EBL;
    return z ^ (z >>> 31);
  }
}
