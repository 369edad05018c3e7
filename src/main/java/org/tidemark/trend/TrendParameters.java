package org.tidemark.trend;

import org.hipparchus.util.FastMath;

/**
 * The parameters of a trend. Between a few readings with errors of some degrees, hardly anything
 * tells a level that wanders from one that is badly read, or a gain that dies away from one that
 * does not: maximum likelihood alone then runs to a bound, and every interval comes out too narrow.
 * So each parameter has a prior, with which the likelihood is multiplied, and bounds. With fewer
 * than {@link #FITTED_FROM} times of reading the usual values are taken as they are; with ten the
 * readings and the prior both count; with a year of weekly readings, the readings.
 *
 * @param wanderPerRootWeek standard deviation that the level gains by chance in one week, in
 *     degrees; {@link #LEAST_WANDER} to {@link #MOST_WANDER}
 * @param halfLifeWeeks time in which a slope halves, in weeks; {@link #SHORTEST_HALF_LIFE} to
 *     {@link #LONGEST_HALF_LIFE}
 * @param fitted whether they come from the readings; otherwise they are the usual ones
 */
public record TrendParameters(double wanderPerRootWeek, double halfLifeWeeks, boolean fitted) {
  /** Times of reading from which parameters are fitted. */
  public static final int FITTED_FROM = 5;

  /** Lowest wander: a level that stands still would be believed against every new reading. */
  public static final double LEAST_WANDER = 0.1;

  /** Highest wander: above it, a week would change more than measuring does. */
  public static final double MOST_WANDER = 4;

  /** Shortest half-life: faster, and a gain would be over before three weekly readings are in. */
  public static final double SHORTEST_HALF_LIFE = 2;

  /** Longest half-life: a gain that runs on for a year is as good as one without an end. */
  public static final double LONGEST_HALF_LIFE = 52;

  /**
   * The middle of the priors. Wander: 0.7 degrees in a week, 2.4 in twelve weeks, less than one
   * SEM; an assumption. Half-life: 8 weeks, so that two thirds of a gain are made in twelve weeks,
   * as most of the gain in flexion after a knee replacement is (Stratford); the number is an
   * assumption.
   */
  static final TrendParameters USUAL = new TrendParameters(0.7, 8, false);

  /** Standard deviation of the logarithm of the wander: a factor of 2 holds two people in three. */
  static final double WANDER_SPREAD = 0.7;

  /**
   * Standard deviation of the logarithm of the half-life: 4 to 16 weeks hold two people in three.
   */
  static final double HALF_LIFE_SPREAD = 0.7;

  /** Slopes at the first reading: ±3 degrees a week holds two people in three. An assumption. */
  private static final double FIRST_SLOPE_PER_WEEK = 3;

  /**
   * How much chance disturbs the slope in a week, as a share of how much it moves the level. Small,
   * so that a slope is a thing of weeks; not 0, so that a new one can begin. An assumption.
   */
  private static final double SLOPE_SHARE = 0.1;

  /**
   * Variance of the level before any reading: so wide (1000 degrees) that the prior says nothing.
   */
  private static final double NOTHING_KNOWN = 1e6;

  /** Parameters from readings, each moved to its nearest bound when it is outside. */
  static TrendParameters fitted(double wanderPerRootWeek, double halfLifeWeeks) {
    return new TrendParameters(
        Math.min(Math.max(wanderPerRootWeek, LEAST_WANDER), MOST_WANDER),
        Math.min(Math.max(halfLifeWeeks, SHORTEST_HALF_LIFE), LONGEST_HALF_LIFE),
        true);
  }

  /** These with wander and half-life multiplied, within the bounds. */
  TrendParameters times(double wanderFactor, double halfLifeFactor) {
    TrendParameters moved =
        fitted(wanderPerRootWeek * wanderFactor, halfLifeWeeks * halfLifeFactor);
    return new TrendParameters(moved.wanderPerRootWeek, moved.halfLifeWeeks, fitted);
  }

  /** Log of the prior density of the logarithms, but for a constant. */
  double logPrior() {
    double wander = FastMath.log(wanderPerRootWeek / USUAL.wanderPerRootWeek) / WANDER_SPREAD;
    double halfLife = FastMath.log(halfLifeWeeks / USUAL.halfLifeWeeks) / HALF_LIFE_SPREAD;
    return -(wander * wander + halfLife * halfLife) / 2;
  }

  /** The model, time in weeks. */
  DampedLevel model() {
    double levelVariance = wanderPerRootWeek * wanderPerRootWeek;
    return new DampedLevel(
        levelVariance, SLOPE_SHARE * SLOPE_SHARE * levelVariance, FastMath.log(2) / halfLifeWeeks);
  }

  /**
   * The filter, time in weeks.
   *
   * @param middle a level in the midst of the readings
   */
  LevelFilter filter(double middle) {
    return new LevelFilter(
        model(),
        new LevelFilter.State(
            middle, 0, NOTHING_KNOWN, 0, FIRST_SLOPE_PER_WEEK * FIRST_SLOPE_PER_WEEK));
  }
}
