package org.tidemark.demand;

import org.hipparchus.distribution.continuous.NormalDistribution;
import org.hipparchus.random.SobolSequenceGenerator;

/**
 * What a ratio has to be drawn over. Each has one coordinate in a fixed set of evenly spread points
 * (Sobol's sequence), the same for both settings of a ratio, so that what both have in common
 * cancels, and the same facts always give the same band. Along each coordinate the points stand at
 * 1/256, 2/256 to 255/256, in an order of its own.
 */
enum Unknown {
  FRONT_SHARE,
  HEIGHT_EFFECT,
  LOAD_EFFECT,
  HAND_HABIT,
  TWO_HANDS,
  ONE_HAND,
  FINGERTIPS,
  PRESSURE,
  TILT,
  HEEL_TILT,
  CONTACT,
  MEETING_POINT,
  GIRTH,
  SHANK,
  ANKLE,
  BOARD,
  LEAN,
  REAR_REACH,
  THIGH,
  STATURE,
  MASS,
  LEG_BALANCE;

  /** How many points there are. An odd number, so that one of them is the median. */
  static final int POINTS = 255;

  private static final double[][] COORDINATES = coordinates();
  private static final double[][] DEVIATIONS = deviations();

  /** The coordinates of the points, each in 0 to 1, both ends excluded. */
  double[] even() {
    return COORDINATES[ordinal()].clone();
  }

  /** The points on a triangular distribution. */
  double[] triangular(double low, double mode, double high) {
    double[] drawn = new double[POINTS];
    double rise = (mode - low) / (high - low);
    for (int i = 0; i < POINTS; i++) {
      double u = COORDINATES[ordinal()][i];
      drawn[i] =
          u < rise
              ? low + Math.sqrt(u * (high - low) * (mode - low))
              : high - Math.sqrt((1 - u) * (high - low) * (high - mode));
    }
    return drawn;
  }

  /** The points on a distribution whose logarithm is uniform. */
  double[] evenOnALogScale(double low, double high) {
    double[] drawn = new double[POINTS];
    for (int i = 0; i < POINTS; i++) {
      drawn[i] = low * Math.pow(high / low, COORDINATES[ordinal()][i]);
    }
    return drawn;
  }

  /** The points on the normal distribution of an estimate; its value at each when measured. */
  double[] of(Estimate estimate) {
    double[] drawn = new double[POINTS];
    for (int i = 0; i < POINTS; i++) {
      drawn[i] = estimate.at(DEVIATIONS[ordinal()][i]);
    }
    return drawn;
  }

  private static double[][] coordinates() {
    int dimensions = values().length;
    SobolSequenceGenerator sobol = new SobolSequenceGenerator(dimensions);
    sobol.nextVector(); // the first is the corner, where every coordinate is 0
    double[][] coordinates = new double[dimensions][POINTS];
    for (int i = 0; i < POINTS; i++) {
      double[] point = sobol.nextVector();
      for (int d = 0; d < dimensions; d++) {
        coordinates[d][i] = point[d];
      }
    }
    return coordinates;
  }

  private static double[][] deviations() {
    NormalDistribution normal = new NormalDistribution();
    double[][] deviations = new double[COORDINATES.length][POINTS];
    for (int d = 0; d < COORDINATES.length; d++) {
      for (int i = 0; i < POINTS; i++) {
        deviations[d][i] = normal.inverseCumulativeProbability(COORDINATES[d][i]);
      }
    }
    return deviations;
  }
}
