package org.tidemark.trend;

/**
 * An estimate with the interval that holds the truth with 95 % probability, if the model is right.
 *
 * @param low lower end
 * @param estimate the median: the truth is as likely above as below
 * @param high upper end
 */
public record Interval(double low, double estimate, double high) {
  public Interval {
    if (!(low <= estimate && estimate <= high)) {
      throw new IllegalArgumentException(
          "an interval runs from low to high, was " + low + ", " + estimate + ", " + high);
    }
  }

  /** Whether a value lies inside, ends included. */
  public boolean holds(double value) {
    return low <= value && value <= high;
  }
}
