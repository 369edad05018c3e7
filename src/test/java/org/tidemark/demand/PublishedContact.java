package org.tidemark.demand;

/**
 * The contact polynomials of Zelle 2009 as they were published, for 140 to 165 degrees: what the
 * smooth form is held against, and what the worked example was reckoned with.
 */
final class PublishedContact {
  private PublishedContact() {}

  /** Force, % of body weight. */
  static double force(double flexion) {
    return 4.7133e-2 * flexion * flexion - 12.256 * flexion + 798.68;
  }

  /** Arm, metres. */
  static double arm(double flexion) {
    return 6.9596e-6 * flexion * flexion * flexion
        - 2.8729e-3 * flexion * flexion
        + 0.39584 * flexion
        - 18.088;
  }

  /** Moment, % of body weight times metres. */
  static double moment(double flexion) {
    return force(flexion) * arm(flexion);
  }
}
