package org.tidemark.cohort;

import java.util.Arrays;

/**
 * A figure with its 95 % interval; not a number where it is not seen.
 *
 * @param low lower end
 * @param value the figure
 * @param high upper end
 */
record Band(double low, double value, double high) {
  private static final double TAIL = 0.025;

  /** The interval from resamples; one in which the figure is not seen counts as higher than any. */
  static Band of(double value, double[] resampled) {
    double[] sorted =
        Arrays.stream(resampled)
            .map(x -> Double.isNaN(x) ? Double.POSITIVE_INFINITY : x)
            .sorted()
            .toArray();
    int low = (int) Math.floor(TAIL * (sorted.length - 1));
    int high = (int) Math.ceil((1 - TAIL) * (sorted.length - 1));
    return new Band(sorted[low], value, sorted[high]);
  }
}
