package org.tidemark.trend;

/**
 * An estimate with the interval that holds the truth with 95 % probability, if the model is right.
 *
 * @param low lower end
 * @param estimate the most likely value
 * @param high upper end
 */
public record Interval(double low, double estimate, double high) {
  public Interval {
    if (!(low <= estimate && estimate <= high)) {
      throw new IllegalArgumentException(
          "an interval runs from low to high, was " + low + ", " + estimate + ", " + high);
    }
  }

  /** The 95 % interval of a normally distributed estimate. */
  static Interval normal(double estimate, double variance) {
    double half = MinimalDetectableChange.Z_95 * Math.sqrt(variance);
    return new Interval(estimate - half, estimate, estimate + half);
  }

  /** Whether a value lies inside, ends included. */
  public boolean holds(double value) {
    return low <= value && value <= high;
  }

  /** Whether this lies inside ±limit, ends included. */
  boolean isWithin(double limit) {
    return -limit <= low && high <= limit;
  }
}
