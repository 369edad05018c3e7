package org.tidemark.fhir;

import java.math.BigDecimal;
import java.math.MathContext;
import java.util.List;
import java.util.Optional;
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

  /**
   * The form of a quantity.
   *
   * @param quantity any quantity
   * @return its form, or empty when it has no number, or only one that it is more or less than
   */
  public static Optional<SearchedQuantity> of(Quantity quantity) {
    if (!quantity.hasValue() || quantity.hasComparator()) {
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
    return common(system, code).orElse(system + "|" + code);
  }

  /**
   * How many of the unit of {@link #unit} one of the coded units is.
   *
   * @param system the system of the unit's code
   * @param code the code
   * @return the number, more than 0
   */
  public static BigDecimal factor(String system, String code) {
    return common(system, code)
        .flatMap(common -> UnitScale.factor(code, common))
        .map(factor -> factor.round(MathContext.DECIMAL64))
        .orElse(BigDecimal.ONE);
  }

  private static Optional<String> common(String system, String code) {
    return system.equals(Codes.UCUM)
        ? COMMON.stream().filter(common -> UnitScale.factor(code, common).isPresent()).findFirst()
        : Optional.empty();
  }
}
