package org.tidemark.demand;

import java.util.Arrays;
import java.util.List;
import org.hipparchus.util.KthSelector;

/**
 * What one setting asks beside another, for one person: above 1 it asks more. It orders and limits
 * steps; it declares nothing safe.
 *
 * @param low lower end of the band: 5 % of what the unknown inputs allow lies below
 * @param mid the middle of what they allow (median)
 * @param high upper end of the band: 5 % lies above
 * @param extrapolated whether the peak may lie outside the flexions for which the model is founded,
 *     above 90 degrees: it then says more or less, not how much
 * @param estimated codes of the items that were estimated for want of a measurement, and would
 *     narrow the band
 */
public record Ratio(
    double low, double mid, double high, boolean extrapolated, List<String> estimated) {
  /** Points beyond each end of the band: 12 of 255 lie below and 12 above. */
  private static final int OUTSIDE = 12;

  /** Room for the pivots that one search leaves to the next. */
  private static final int PIVOTS = 512;

  /**
   * @throws IllegalArgumentException when the three are not in order, or below 0
   */
  public Ratio {
    if (!(low >= 0 && low <= mid && mid <= high && Double.isFinite(high))) {
      throw new IllegalArgumentException(
          "a band rises from 0 or more, was " + low + ", " + mid + ", " + high);
    }
    estimated = List.copyOf(estimated);
  }

  /** The band of ratios drawn point by point; they come out in another order. */
  static Ratio of(double[] ratios, boolean extrapolated, List<String> estimated) {
    KthSelector selector = new KthSelector();
    int[] pivots = new int[PIVOTS];
    Arrays.fill(pivots, -1);
    int last = ratios.length - 1;
    double mid = selector.select(ratios, pivots, last / 2);
    double low = selector.select(ratios, pivots, OUTSIDE);
    double high = selector.select(ratios, pivots, last - OUTSIDE);
    return new Ratio(low, mid, high, extrapolated, estimated);
  }
}
