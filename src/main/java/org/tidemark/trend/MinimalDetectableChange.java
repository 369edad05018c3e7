package org.tidemark.trend;

/**
 * The smallest difference between two readings that is more than the error of measuring, with 95 %
 * confidence: {@code MDC95 = 1.96 · √2 · SEM} for two readings of one error. A smaller difference
 * is not shown to be a change. Source of the formula: Weir 2005, J Strength Cond Res 19:231-40.
 */
public final class MinimalDetectableChange {
  /** Two-sided 95 % quantile of the standard normal distribution. */
  private static final double Z_95 = 1.96;

  private MinimalDetectableChange() {}

  /**
   * The smallest difference that is more than error: {@code 1.96 · √(SEM1² + SEM2²)}, in the unit
   * of the errors. The mean of {@code n} readings has the error {@code SEM / √n}.
   *
   * @param firstStandardError standard error of measurement (SEM) of the first reading, 0 or more
   * @param secondStandardError SEM of the second reading, in the same unit, 0 or more
   */
  public static double at95(double firstStandardError, double secondStandardError) {
    return Z_95
        * Math.sqrt(
            firstStandardError * firstStandardError + secondStandardError * secondStandardError);
  }
}
