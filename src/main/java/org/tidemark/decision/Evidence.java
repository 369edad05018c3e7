package org.tidemark.decision;

import org.hipparchus.special.Beta;

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
   * The chance that the true share of unsettled sessions is below a rate.
   *
   * @param rate the rate, above 0 and below 1
   * @param factor by how much the evidence is discounted, 1 or more: with 2, ten sessions weigh as
   *     five
   */
  double chanceBelow(double rate, int factor) {
    double settled = (double) (answered - unsettled) / factor;
    double not = (double) unsettled / factor;
    return Beta.regularizedBeta(rate, 1 + not, 1 + settled);
  }

  boolean suffices(double rate, int factor) {
    return chanceBelow(rate, factor) >= NEEDED;
  }
}
