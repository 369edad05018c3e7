package org.tidemark.fhir;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.util.Arrays;
import java.util.Map;
import java.util.Optional;
import java.util.concurrent.ConcurrentHashMap;
import java.util.regex.Pattern;
import org.hl7.fhir.r4.model.Quantity;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/**
 * Quantities in any UCUM unit, as amounts in ours. Units are read by system and code, never by
 * their display text.
 *
 * <p>A scale or a count has no dimension, so that UCUM would turn 50 % into a pain of 0.5: where a
 * score or a count is wanted, only {@code 1} and annotations such as <code>{score}</code> or <code>
 * {set}</code> are taken.
 */
public final class Units {
  /** Converted amounts are kept to this many decimals, half rounded up: a tenth of a micrometre. */
  private static final int DECIMALS = 4;

  /** The most significant digits, and the most decimals, that a sent number may have. */
  private static final int MOST_DIGITS = 18;

  /** A sent number must stay below ten to this power. */
  private static final int MOST_POWER = 9;

  /** An annotation alone, which UCUM takes for the number 1. */
  private static final Pattern ANNOTATION = Pattern.compile("\\{[!-z|~]{1,40}}");

  private static final Map<String, BigDecimal> FACTORS = new ConcurrentHashMap<>();

  /** Beyond this many the factors are worked out anew each time, as clients choose the codes. */
  private static final int MOST_FACTORS = 1000;

  private Units() {}

  /**
   * The amount that a quantity states.
   *
   * @param quantity as sent
   * @param wanted the unit to give it in
   * @param path FHIRPath of the quantity, for complaints
   * @throws Problem when there is no value, a comparator, a number beyond the limits, or a unit
   *     that is not UCUM's or measures something else
   */
  public static Amount amount(Quantity quantity, Unit wanted, String path) {
    return find(quantity, wanted, path)
        .orElseThrow(() -> Problem.of(Problem.Kind.MISSING, "A value is needed.", path + ".value"));
  }

  /**
   * The amount that a quantity states, or empty when it has no value: absent, never 0.
   *
   * @throws Problem as {@link #amount}, but for the missing value
   */
  public static Optional<Amount> find(Quantity quantity, Unit wanted, String path) {
    if (quantity.getValue() == null) {
      return Optional.empty();
    }
    BigDecimal value = number(quantity, path);
    return Optional.of(convert(value, code(quantity, path), wanted, path));
  }

  /**
   * The amount that a quantity states, in whichever of our units measures the same: the very unit
   * where it is one of ours; otherwise cm, deg, kg or s. Empty when it has no value.
   *
   * @throws Problem as {@link #find}
   */
  public static Optional<Amount> findAny(Quantity quantity, String path) {
    if (quantity.getValue() == null) {
      return Optional.empty();
    }
    BigDecimal value = number(quantity, path);
    String code = code(quantity, path);
    Unit unit =
        Unit.find(code)
            .or(() -> isAnnotation(code) ? Optional.of(Unit.COUNT) : Optional.empty())
            .or(
                () ->
                    Arrays.stream(Unit.values())
                        .filter(ours -> ours != Unit.MINUTE && hasDimension(ours))
                        .filter(ours -> factor(code, ours).isPresent())
                        .findFirst())
            .orElseThrow(
                () ->
                    Problem.of(
                        Problem.Kind.WRONG_UNIT,
                        "The unit '" + code + "' measures nothing that is known here.",
                        path + ".code"));
    return Optional.of(convert(value, code, unit, path));
  }

  /** Whether the quantity says its unit by system and code. */
  public static boolean hasUnit(Quantity quantity) {
    return quantity.hasSystem() && quantity.hasCode();
  }

  private static BigDecimal number(Quantity quantity, String path) {
    if (quantity.hasComparator()) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED,
          "A value that is only known to be more or less than a number cannot be used.",
          path + ".comparator");
    }
    BigDecimal value = quantity.getValue();
    boolean small = value.precision() - value.scale() <= MOST_POWER;
    if (value.precision() > MOST_DIGITS || value.scale() > MOST_DIGITS || !small) {
      throw Problem.of(
          Problem.Kind.OUT_OF_RANGE,
          "A number may have " + MOST_DIGITS + " digits and must be below 10^" + MOST_POWER + ".",
          path + ".value");
    }
    return value;
  }

  private static String code(Quantity quantity, String path) {
    if (!quantity.hasCode()) {
      throw Problem.of(
          Problem.Kind.WRONG_UNIT,
          "The unit must be given as a UCUM code; its text alone is not read.",
          path + ".code");
    }
    if (!Codes.UCUM.equals(quantity.getSystem())) {
      throw Problem.of(
          Problem.Kind.WRONG_UNIT,
          "The system of the unit must be " + Codes.UCUM + ".",
          path + ".system");
    }
    return quantity.getCode();
  }

  private static Amount convert(BigDecimal value, String code, Unit wanted, String path) {
    if (!hasDimension(wanted)) {
      if (code.equals("1") || isAnnotation(code)) {
        return new Amount(value, wanted);
      }
      throw wrongUnit(code, wanted, path);
    }
    BigDecimal factor = factor(code, wanted).orElseThrow(() -> wrongUnit(code, wanted, path));
    return new Amount(value.multiply(factor).setScale(DECIMALS, RoundingMode.HALF_UP), wanted);
  }

  private static Problem wrongUnit(String code, Unit wanted, String path) {
    return Problem.of(
        Problem.Kind.WRONG_UNIT,
        UnitScale.isKnown(code)
            ? "The unit '" + code + "' cannot be given in '" + wanted.ucum() + "'."
            : "'" + code + "' is not the UCUM code of a single unit.",
        path + ".code");
  }

  /** How many of our units one of the coded units is; empty when they measure different things. */
  private static Optional<BigDecimal> factor(String code, Unit wanted) {
    String pair = wanted + " " + code;
    BigDecimal known = FACTORS.get(pair);
    if (known != null) {
      return Optional.of(known);
    }
    Optional<BigDecimal> factor = UnitScale.factor(code, wanted.ucum());
    if (FACTORS.size() < MOST_FACTORS) {
      factor.ifPresent(number -> FACTORS.put(pair, number));
    }
    return factor;
  }

  private static boolean hasDimension(Unit unit) {
    return unit != Unit.SCORE && unit != Unit.COUNT;
  }

  private static boolean isAnnotation(String code) {
    return ANNOTATION.matcher(code).matches();
  }
}
