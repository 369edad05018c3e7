package org.tidemark.trend;

import org.hipparchus.linear.Array2DRowRealMatrix;
import org.hipparchus.linear.RealMatrix;
import org.hipparchus.util.FastMath;

/**
 * A level that moves by a slope which dies away, both disturbed at random; in continuous time, so
 * that any gap between readings is exact and two short gaps are as good as one long one:
 *
 * <pre>
 *   d level = slope · dt + √levelVariance · dW₁
 *   d slope = −damping · slope · dt + √slopeVariance · dW₂
 * </pre>
 *
 * <p>This is the local linear trend of Durbin and Koopman (2012, Time Series Analysis by State
 * Space Methods, §3.2) with the damping of Gardner and McKenzie (1985, Manage Sci 31:1237-46) and
 * the slope as an Ornstein-Uhlenbeck process. Without a slope it is the local level model (Durbin
 * and Koopman §2). Time has any unit; the others follow it.
 *
 * @param levelVariance variance that the level gains in a unit of time, 0 or more
 * @param slopeVariance variance that the slope gains in a unit of time, 0 or more
 * @param damping share of the slope lost in a unit of time, at the rate of the moment, more than 0
 */
record DampedLevel(double levelVariance, double slopeVariance, double damping) {
  DampedLevel {
    if (!(levelVariance >= 0 && slopeVariance >= 0 && damping > 0)) {
      throw new IllegalArgumentException(
          "variances are 0 or more and damping is more than 0, was "
              + levelVariance
              + ", "
              + slopeVariance
              + ", "
              + damping);
    }
  }

  /** How much of a slope is left after a time, 0 to 1. */
  double slopeLeft(double time) {
    return FastMath.exp(-damping * time);
  }

  /** How far a slope of 1 carries the level in a time. */
  double carry(double time) {
    return -FastMath.expm1(-damping * time) / damping;
  }

  /** How far a slope of 1 carries the level in all time to come. */
  double carryForEver() {
    return 1 / damping;
  }

  /** What a time makes of level and slope. */
  RealMatrix transition(double time) {
    return new Array2DRowRealMatrix(new double[][] {{1, carry(time)}, {0, slopeLeft(time)}}, false);
  }

  /** Covariance of what chance adds to level and slope in a time. */
  RealMatrix noise(double time) {
    double k = damping;
    double lost = -FastMath.expm1(-k * time);
    double lostTwice = -FastMath.expm1(-2 * k * time);
    double ofSlope = slopeVariance * lostTwice / (2 * k);
    double between = slopeVariance * lost * lost / (2 * k * k);
    double ofLevel = slopeVariance * (time - 2 * lost / k + lostTwice / (2 * k)) / (k * k);
    return new Array2DRowRealMatrix(
        new double[][] {{levelVariance * time + Math.max(0, ofLevel), between}, {between, ofSlope}},
        false);
  }
}
