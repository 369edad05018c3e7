package org.tidemark.demand;

/**
 * How the quadriceps straightens the knee: its effective lever arm, and how much of its force
 * presses the kneecap on the thigh bone. Both fits hold to 90 degrees only: further on the lever
 * arm's cubic turns upward (from 96.2 degrees), and the force ratio's fraction runs into a pole (at
 * 128.19 degrees). Both therefore keep their value of 90 degrees beyond it.
 */
final class ExtensorMechanism {
  /** Flexion at and below which the fits hold, degrees. */
  static final double DOMAIN_END = 90;

  private static final double GAIN_AT_END = forceRatio(DOMAIN_END) / leverArm(DOMAIN_END);

  private ExtensorMechanism() {}

  /**
   * Effective lever arm of the quadriceps, metres. Cubic fit to van Eijden 1986 and 1987.
   *
   * @param flexion flexion of the knee, degrees, 0 or more; 90 stands for anything beyond
   */
  static double leverArm(double flexion) {
    double t = inDomain(flexion);
    return (((8.0e-5 * t - 0.013) * t + 0.28) * t + 46) / 1000;
  }

  /**
   * Force on the back of the kneecap for each unit of quadriceps force. Brechter and Powers 2002.
   *
   * @param flexion flexion of the knee, degrees, 0 or more; 90 stands for anything beyond
   */
  static double forceRatio(double flexion) {
    double t = inDomain(flexion);
    return (0.462 + 1.47e-3 * t - 3.84e-5 * t * t)
        / (1 - 1.62e-2 * t + 1.55e-4 * t * t - 6.98e-7 * t * t * t);
  }

  /** Force on the kneecap for each unit of moment about the knee, 1/metre. */
  static double gain(double flexion) {
    return flexion >= DOMAIN_END ? GAIN_AT_END : forceRatio(flexion) / leverArm(flexion);
  }

  private static double inDomain(double flexion) {
    if (!(flexion >= 0)) {
      throw new IllegalArgumentException("flexion is 0 degrees or more, was " + flexion);
    }
    return Math.min(flexion, DOMAIN_END);
  }
}
