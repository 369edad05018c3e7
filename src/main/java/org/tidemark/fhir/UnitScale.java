package org.tidemark.fhir;

import java.io.IOException;
import java.io.InputStream;
import java.math.BigDecimal;
import java.math.MathContext;
import java.util.Objects;
import java.util.Optional;
import java.util.regex.Pattern;
import org.fhir.ucum.BaseUnit;
import org.fhir.ucum.Component;
import org.fhir.ucum.DefinedUnit;
import org.fhir.ucum.ExpressionParser;
import org.fhir.ucum.Factor;
import org.fhir.ucum.Operator;
import org.fhir.ucum.Symbol;
import org.fhir.ucum.Term;
import org.fhir.ucum.UcumEssenceService;
import org.fhir.ucum.UcumException;
import org.fhir.ucum.Unit;

/**
 * How large UCUM's units are, by the definitions and the parser of the UCUM library.
 *
 * <p>The library's own conversion keeps as many digits as the shortest number on its way has: a
 * foot, defined as 12 inches, comes out as 30.5 cm, and 7.75 inches as 19.7 cm. So the definitions
 * are multiplied out here, to 34 digits.
 */
final class UnitScale {
  /**
   * One unit with its prefix and perhaps an annotation: lengths, angles, masses and times need no
   * more. Powers and products are not handed to the library, which would work on <code>10*99999.m
   * </code> or {@code Ym40} for ever.
   */
  private static final Pattern SINGLE_UNIT =
      Pattern.compile("[A-Za-z_]{0,8}(\\[[A-Za-z0-9_']{1,20}])?'{0,2}(\\{[!-z|~]{1,40}})?");

  private static final UcumEssenceService UCUM = load();

  private UnitScale() {}

  /** Whether this is the UCUM code of a single unit. */
  static boolean isKnown(String code) {
    return !code.isEmpty() && SINGLE_UNIT.matcher(code).matches() && UCUM.validate(code) == null;
  }

  /**
   * How many of the wanted units one of the coded units is; empty when it is no single unit of
   * UCUM, or they measure different things.
   */
  static Optional<BigDecimal> factor(String code, String wanted) {
    if (!isKnown(code)) {
      return Optional.empty();
    }
    try {
      return UCUM.isComparable(code, wanted)
          ? Optional.of(size(code).divide(size(wanted), MathContext.DECIMAL128))
          : Optional.empty();
    } catch (UcumException special) {
      // A scale with an offset or a logarithm, such as Cel: none measures what is taken here.
      return Optional.empty();
    }
  }

  /** The size of a unit in UCUM's base units. */
  private static BigDecimal size(String code) throws UcumException {
    return size(new ExpressionParser(UCUM.getModel()).parse(code));
  }

  /** Products and quotients are taken from left to right. */
  private static BigDecimal size(Term expression) throws UcumException {
    BigDecimal size = BigDecimal.ONE;
    boolean divides = false;
    for (Term term = expression; term != null; term = term.getTerm()) {
      if (term.hasComp()) {
        BigDecimal part = size(term.getComp());
        size =
            divides
                ? size.divide(part, MathContext.DECIMAL128)
                : size.multiply(part, MathContext.DECIMAL128);
      }
      divides = term.getOp() == Operator.DIVISION;
    }
    return size;
  }

  private static BigDecimal size(Component part) throws UcumException {
    if (part instanceof Factor factor) {
      return BigDecimal.valueOf(factor.getValue());
    }
    if (part instanceof Symbol symbol) {
      BigDecimal prefix =
          symbol.hasPrefix()
              ? new BigDecimal(symbol.getPrefix().getValue().asDecimal())
              : BigDecimal.ONE;
      return prefix
          .multiply(size(symbol.getUnit()), MathContext.DECIMAL128)
          .pow(symbol.getExponent(), MathContext.DECIMAL128);
    }
    return size((Term) part);
  }

  private static BigDecimal size(Unit unit) throws UcumException {
    if (unit instanceof BaseUnit) {
      return BigDecimal.ONE;
    }
    DefinedUnit defined = (DefinedUnit) unit;
    BigDecimal number = new BigDecimal(defined.getValue().getValue().asDecimal());
    return number.multiply(size(defined.getValue().getUnit()), MathContext.DECIMAL128);
  }

  private static UcumEssenceService load() {
    try (InputStream essence =
        Objects.requireNonNull(
            UcumEssenceService.class.getResourceAsStream("/ucum-essence.xml"),
            "ucum-essence.xml is not on the class path")) {
      return new UcumEssenceService(essence);
    } catch (UcumException | IOException broken) {
      throw new IllegalStateException("the UCUM definitions cannot be read", broken);
    }
  }
}
