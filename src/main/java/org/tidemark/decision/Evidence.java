package org.tidemark.decision;

import org.hipparchus.special.Beta;
import org.hipparchus.util.FastMath;

/**
 * How sure one can be that a setting is tolerated: a Beta posterior over the chance that a session
 * at it is not settled, from the prior Beta(1, 1).
 *
 * @param answered answered sessions since the setting began, 0 or more
 * @param unsettled how many of them were not settled, 0 to {@code answered}
 */
record Evidence(int answered, int unsettled) {
  /** The chance that progress needs, included (common practice). */
  static final double NEEDED = 0.80;

  /**
   * The chance that the true share of unsettled sessions is below a rate: the distribution function
   * of the posterior, which is {@code 1 - (1 - rate)^(settled + 1)} while all are settled.
   *
   * @param rate the rate, above 0 and below 1
   * @param factor by how much the evidence is discounted, 1 or more: with 2, ten sessions weigh as
   *     five
   */
  double chanceBelow(double rate, int factor) {
    double settled = (double) (answered - unsettled) / factor;
    if (unsettled == 0) {
      return 1 - FastMath.pow(1 - rate, 1 + settled);
    }
    double not = (double) unsettled / factor;
    return Beta.regularizedBeta(rate, 1 + not, 1 + settled);
  }

  boolean suffices(double rate, int factor) {
    return chanceBelow(rate, factor) >= NEEDED;
  }
}
