package org.tidemark.fhir;

import java.math.BigDecimal;
import java.math.MathContext;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.concurrent.ConcurrentHashMap;
import org.hl7.fhir.r4.model.Quantity;

/**
 * A quantity in a form in which it can be compared with others: lengths, angles, masses and times
 * in any unit of UCUM are brought to one unit each; all others are compared in their own.
 *
 * @param unit the unit that it is compared in
 * @param amount how many of it
 * @param sentUnit the unit's code as it was sent, or its text where it has no code; may be empty
 * @param sentAmount the number as it was sent
 */
public record SearchedQuantity(String unit, double amount, String sentUnit, double sentAmount) {
  private static final List<String> COMMON = List.of("cm", "deg", "kg", "s");

  private static final Map<String, Optional<Common>> KNOWN = new ConcurrentHashMap<>();

  /** Beyond this many they are worked out anew each time, as clients choose the codes. */
  private static final int MOST_KNOWN = 1000;

  /**
   * The form of a quantity.
   *
   * @param quantity any quantity
   * @return its form, or empty when it has no number, or only one that it is more or less than
   */
  public static Optional<SearchedQuantity> of(Quantity quantity) {
    if (quantity.getValue() == null || quantity.hasComparator()) {
      return Optional.empty();
    }
    String system = quantity.hasSystem() ? quantity.getSystem() : "";
    String code = quantity.hasCode() ? quantity.getCode() : "";
    BigDecimal number = quantity.getValue();
    return Optional.of(
        new SearchedQuantity(
            unit(system, code),
            number.multiply(factor(system, code)).doubleValue(),
            code.isEmpty() && quantity.hasUnit() ? quantity.getUnit() : code,
            number.doubleValue()));
  }

  /**
   * The unit that a coded unit is compared in.
   *
   * @param system the system of the unit's code, may be empty
   * @param code the code, may be empty
   * @return the common unit, or a name for the unit itself
   */
  public static String unit(String system, String code) {
    return common(system, code).map(Common::unit).orElse(system + "|" + code);
  }

  /**
   * How many of the unit of {@link #unit} one of the coded units is.
   *
   * @param system the system of the unit's code
   * @param code the code
   * @return the number, more than 0
   */
  public static BigDecimal factor(String system, String code) {
    return common(system, code).map(Common::factor).orElse(BigDecimal.ONE);
  }

  /** The common unit of a coded unit, and how many of it the coded unit is. */
  private record Common(String unit, BigDecimal factor) {}

  private static Optional<Common> common(String system, String code) {
    if (!system.equals(Codes.UCUM)) {
      return Optional.empty();
    }
    Optional<Common> known = KNOWN.get(code);
    if (known == null) {
      known = COMMON.stream().flatMap(unit -> in(unit, code).stream()).findFirst();
      if (KNOWN.size() < MOST_KNOWN) {
        KNOWN.put(code, known);
      }
    }
    return known;
  }

  private static Optional<Common> in(String unit, String code) {
    return UnitScale.factor(code, unit)
        .map(factor -> new Common(unit, factor.round(MathContext.DECIMAL64)));
  }
}
