package org.tidemark.trend;

import java.math.BigDecimal;
import java.util.Optional;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/**
 * The smallest difference between two single readings that is more than the error of measuring,
 * with 95 % confidence: {@code MDC95 = 1.96 · √2 · SEM}. A smaller difference is not shown to be a
 * change. Source of the formula: Weir 2005, J Strength Cond Res 19:231-40.
 *
 * @param standardError the standard error of measurement (SEM) of one reading, more than 0
 */
public record MinimalDetectableChange(Amount standardError) {
  /**
   * SEM of a joint angle read by one rater with one method: 4 degrees, the upper end of the 3 to 4
   * degrees of a goniometer and the lower end of the 4 to 5 degrees of a self-measurement.
   */
  public static final Amount JOINT_ANGLE_ERROR = Amount.of(4, Unit.DEGREE);

  /** Two-sided 95 % quantile of the standard normal distribution. */
  private static final double Z_95 = 1.96;

  public MinimalDetectableChange {
    if (standardError.value().signum() <= 0) {
      throw new IllegalArgumentException(
          "a standard error of measurement is more than 0, was " + standardError);
    }
  }

  /** The one for a reading of this unit; empty where no error of measurement is known. */
  public static Optional<MinimalDetectableChange> of(Unit unit) {
    return unit == Unit.DEGREE
        ? Optional.of(new MinimalDetectableChange(JOINT_ANGLE_ERROR))
        : Optional.empty();
  }

  /** MDC95, in the unit of the standard error. */
  public double at95() {
    double error = standardError.value().doubleValue();
    return at95(error, error);
  }

  /**
   * The smallest difference that is more than error when the two readings have different errors:
   * {@code 1.96 · √(SEM1² + SEM2²)}, in the unit of the errors. The mean of {@code n} readings has
   * the error {@code SEM / √n}.
   *
   * @param firstStandardError SEM of the first reading, 0 or more
   * @param secondStandardError SEM of the second reading, in the same unit, 0 or more
   */
  public static double at95(double firstStandardError, double secondStandardError) {
    return Z_95
        * Math.sqrt(
            firstStandardError * firstStandardError + secondStandardError * secondStandardError);
  }

  /**
   * Whether two readings differ by MDC95 or more, in either direction.
   *
   * @throws IllegalArgumentException when a reading has another unit than the standard error
   */
  public boolean isShown(Amount first, Amount second) {
    if (first.unit() != standardError.unit()) {
      throw new IllegalArgumentException(
          "the error is known in "
              + standardError.unit().ucum()
              + ", the reading is in "
              + first.unit().ucum());
    }
    BigDecimal difference = first.distanceTo(second).value();
    return difference.doubleValue() >= at95();
  }
}
