package org.tidemark.application;

import java.math.BigDecimal;
import java.util.List;
import java.util.Optional;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.SearchedQuantity;
import org.tidemark.store.Query;

/**
 * Reads a quantity that is searched for: {@code gt120|http://unitsofmeasure.org|deg}, {@code
 * 5.4||mg} or {@code 100}.
 *
 * <p>As the standard has it, a number stands for all that it is the rounding of: 100 for 99.5 up to
 * but not including 100.5, and {@code ap} for a tenth more or less. With a system the unit is
 * compared by its size, so that 5 in is found as 12.7 cm; with a code alone it is the unit as sent.
 */
final class SearchedAmount {
  private static final Pattern FORM =
      Pattern.compile(
          "(eq|ne|gt|lt|ge|le|sa|eb|ap)?([+-]?\\d{1,18}(\\.\\d{1,18})?([eE][+-]?\\d)?)");

  private static final BigDecimal HALF = new BigDecimal("0.5");
  private static final BigDecimal TENTH = new BigDecimal("0.1");

  private SearchedAmount() {}

  /**
   * Reads one.
   *
   * @param name the parameter, for complaints
   * @param value the text, with its escapes
   * @throws Problem when it is no quantity
   */
  static Query.MeasureTest read(String name, String value) {
    List<String> parts = Searching.split(value, '|').stream().map(Searching::unescaped).toList();
    Matcher form = FORM.matcher(parts.get(0));
    if (!form.matches() || parts.size() == 2 || parts.size() > 3) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "A quantity is asked for as 5.4, 5.4|http://unitsofmeasure.org|cm or 5.4||cm, with eq, ne,"
              + " gt, lt, ge, le, sa, eb or ap before it.",
          name);
    }
    String system = parts.size() == 3 ? parts.get(1) : "";
    String code = parts.size() == 3 ? parts.get(2) : "";
    BigDecimal number = new BigDecimal(form.group(2));
    String prefix = form.group(1) == null ? "eq" : form.group(1);
    if (system.isEmpty()) {
      return test(
          Query.Measured.SENT,
          Optional.of(code).filter(c -> !c.isEmpty()),
          prefix,
          number,
          BigDecimal.ONE);
    }
    return test(
        Query.Measured.COMPARED,
        Optional.of(SearchedQuantity.unit(system, code)),
        prefix,
        number,
        SearchedQuantity.factor(system, code));
  }

  private static Query.MeasureTest test(
      Query.Measured column,
      Optional<String> unit,
      String prefix,
      BigDecimal number,
      BigDecimal factor) {
    BigDecimal slack =
        prefix.equals("ap")
            ? number.abs().multiply(TENTH)
            : HALF.scaleByPowerOfTen(-number.scale());
    double exact = number.multiply(factor).doubleValue();
    double low = number.subtract(slack).multiply(factor).doubleValue();
    double high = number.add(slack).multiply(factor).doubleValue();
    double least = Double.NEGATIVE_INFINITY;
    double most = Double.POSITIVE_INFINITY;
    return switch (prefix) {
      case "gt", "sa" -> new Query.MeasureTest(column, unit, exact, most, false, false, true);
      case "lt", "eb" -> new Query.MeasureTest(column, unit, least, exact, false, false, true);
      case "ge" -> new Query.MeasureTest(column, unit, exact, most, true, false, true);
      case "le" -> new Query.MeasureTest(column, unit, least, exact, false, true, true);
      case "ap" -> new Query.MeasureTest(column, unit, low, high, true, true, true);
      case "ne" -> new Query.MeasureTest(column, unit, low, high, true, false, false);
      default -> new Query.MeasureTest(column, unit, low, high, true, false, true);
    };
  }
}
