package org.tidemark.quantity;

import java.math.BigDecimal;
import java.math.RoundingMode;

/**
 * A number with its unit. Two amounts are equal when they measure the same: 20 kg equals 20.0 kg.
 *
 * @param value the number, any sign; kept without trailing zeros
 * @param unit the unit of the number
 */
public record Amount(BigDecimal value, Unit unit) implements Value, Comparable<Amount> {
  public Amount {
    value = value.signum() == 0 ? BigDecimal.ZERO : value.stripTrailingZeros();
    if (value.scale() < 0) {
      value = value.setScale(0, RoundingMode.UNNECESSARY);
    }
  }

  /** An amount from a number as one would write it, such as {@code of("17.5", CENTIMETRE)}. */
  public static Amount of(String number, Unit unit) {
    return new Amount(new BigDecimal(number), unit);
  }

  /** An amount of a whole number. */
  public static Amount of(long number, Unit unit) {
    return new Amount(BigDecimal.valueOf(number), unit);
  }

  /** Nothing of this unit. */
  public static Amount zero(Unit unit) {
    return new Amount(BigDecimal.ZERO, unit);
  }

  public Amount plus(Amount other) {
    return new Amount(value.add(other.in(unit)), unit);
  }

  public Amount minus(Amount other) {
    return new Amount(value.subtract(other.in(unit)), unit);
  }

  public Amount times(int factor) {
    return new Amount(value.multiply(BigDecimal.valueOf(factor)), unit);
  }

  /** How far apart two amounts are, 0 or more. */
  public Amount distanceTo(Amount other) {
    return new Amount(value.subtract(other.in(unit)).abs(), unit);
  }

  public boolean isZero() {
    return value.signum() == 0;
  }

  public boolean isAbove(Amount other) {
    return compareTo(other) > 0;
  }

  public boolean isBelow(Amount other) {
    return compareTo(other) < 0;
  }

  /**
   * Orders by size.
   *
   * @throws IllegalArgumentException when the units differ
   */
  @Override
  public int compareTo(Amount other) {
    return value.compareTo(other.in(unit));
  }

  /** The number and the UCUM code, such as {@code 17.5 cm}. */
  @Override
  public String toString() {
    return unit == Unit.COUNT ? value.toPlainString() : value.toPlainString() + " " + unit.ucum();
  }

  private BigDecimal in(Unit wanted) {
    if (unit != wanted) {
      throw new IllegalArgumentException("cannot take " + unit.ucum() + " for " + wanted.ucum());
    }
    return value;
  }
}
