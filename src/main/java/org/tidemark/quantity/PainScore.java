package org.tidemark.quantity;

import java.math.BigDecimal;

/**
 * Pain on the numeric rating scale, 0 (none) to 10 (worst imaginable), both ends included.
 *
 * @param value the score, 0 to 10; fractions are allowed, as a median of scores may have one
 */
public record PainScore(BigDecimal value) implements Comparable<PainScore> {
  public static final PainScore NONE = new PainScore(BigDecimal.ZERO);

  public PainScore {
    if (value.signum() < 0 || value.compareTo(BigDecimal.TEN) > 0) {
      throw new IllegalArgumentException("pain must be 0 to 10, was " + value.toPlainString());
    }
    value = value.signum() == 0 ? BigDecimal.ZERO : value.stripTrailingZeros();
  }

  public static PainScore of(long value) {
    return new PainScore(BigDecimal.valueOf(value));
  }

  /** The amount by which this pain is above another; below 0 when it is less. */
  public BigDecimal above(PainScore other) {
    return value.subtract(other.value);
  }

  public boolean isAbove(PainScore other) {
    return compareTo(other) > 0;
  }

  @Override
  public int compareTo(PainScore other) {
    return value.compareTo(other.value);
  }

  /** The number alone, such as {@code 2} or {@code 1.5}. */
  @Override
  public String toString() {
    return value.toPlainString();
  }
}
