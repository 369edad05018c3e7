package org.tidemark.trend;

import org.hipparchus.distribution.continuous.BetaDistribution;

/**
 * Exact limits of a share seen in a number of trials (Clopper and Pearson 1934, Biometrika
 * 26:404-13), none and all included.
 */
public record ClopperPearson(double low, double high) {
  /** The limits of 95 % confidence. */
  public static ClopperPearson of95(int hits, int trials) {
    double low =
        hits == 0
            ? 0
            : new BetaDistribution(hits, trials - hits + 1).inverseCumulativeProbability(0.025);
    double high =
        hits == trials
            ? 1
            : new BetaDistribution(hits + 1, trials - hits).inverseCumulativeProbability(0.975);
    return new ClopperPearson(low, high);
  }
}
