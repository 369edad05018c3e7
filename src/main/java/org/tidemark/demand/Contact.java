package org.tidemark.demand;

/**
 * Thigh and calf touching: where it begins, and how much of the bending moment it takes over.
 *
 * <p>The moment is the smooth form of the data of Zelle 2007 (J Biomech 40:821-6), which begin at
 * about 130 degrees of flexion; it is moved to the onset of the person. Between the onset and 10
 * degrees beyond it is faded in, so that it starts at 0 without a jump. The polynomials of Zelle
 * 2009 are not used: they jump at the onset and rise again below it.
 */
final class Contact {
  /** Flexion at which the people of the published data touch, degrees. */
  static final double PUBLISHED_ONSET = 130;

  /** Flexion at which the published data end, degrees. */
  static final double PUBLISHED_END = 165;

  /** Flexion over which the moment is faded in from the onset, degrees. */
  static final double FADE = 10;

  /** No onset is taken as earlier than this, degrees: nobody's contact was seen before. */
  static final double EARLIEST_ONSET = 90;

  private Contact() {}

  /**
   * Flexion at which calf and thigh meet, degrees, {@value #EARLIEST_ONSET} to {@value
   * #PUBLISHED_END}: the two are taken as round, side by side at the same distance from the knee.
   *
   * @param calfGirth girth of the calf at its thickest, metres, more than 0
   * @param lowerThighGirth girth of the thigh just above the knee, metres, more than 0
   * @param distance distance from the knee at which they meet, metres, more than 0
   */
  static double onset(double calfGirth, double lowerThighGirth, double distance) {
    return onset(calfGirth, lowerThighGirth, distance, 0);
  }

  /**
   * The same with something between calf and thigh, such as a rolled towel.
   *
   * @param between how thick it is, metres, 0 or more
   */
  static double onset(double calfGirth, double lowerThighGirth, double distance, double between) {
    double apart = (calfGirth + lowerThighGirth) / (2 * Math.PI) + between;
    double onset = 180 - 2 * Math.toDegrees(Math.asin(Math.min(1, apart / (2 * distance))));
    return Math.min(PUBLISHED_END, Math.max(EARLIEST_ONSET, onset));
  }

  /**
   * Moment that contact takes over, body weights times metres, 0 or more: nothing up to the onset,
   * then never less than before.
   *
   * @param flexion flexion of the knee, degrees
   * @param onset flexion at which this person's calf and thigh meet, degrees
   */
  static double moment(double flexion, double onset) {
    if (flexion <= onset) {
      return 0;
    }
    double beyond = flexion - onset;
    double published = Math.min(PUBLISHED_END, PUBLISHED_ONSET + beyond);
    return publishedMoment(published) * Math.min(1, beyond / FADE);
  }

  /** The published moment, body weights times metres, from 130 to 165 degrees of flexion. */
  private static double publishedMoment(double flexion) {
    double x = 4.066036 * Math.toRadians(flexion) - 12.097768;
    double tanh = 1 - 2 / (Math.exp(2 * x) + 1);
    return 25.385677 * (tanh + 0.999998) / 100;
  }
}
