package org.tidemark.demand;

/**
 * A measure of the body that was either taken or guessed from what people measure.
 *
 * @param middle the value, or the middle of what people measure
 * @param spread one standard deviation of what it may be; 0 when it was measured itself
 * @param measured whether it was measured
 */
record Estimate(double middle, double spread, boolean measured) {

  static Estimate measured(double value) {
    return new Estimate(value, 0, true);
  }

  static Estimate unknown(double middle, double spread) {
    return new Estimate(middle, spread, false);
  }

  /** The value so many standard deviations away from the middle. */
  double at(double deviations) {
    return middle + spread * deviations;
  }
}
