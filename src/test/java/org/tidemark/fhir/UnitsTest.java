package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.tidemark.fhir.Complaints.assertRefused;
import static org.tidemark.fhir.Reports.quantity;

import java.math.BigDecimal;
import java.util.Optional;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Quantity.QuantityComparator;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.Timeout;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/**
 * Conversions against published constants: 1 in = 2.54 cm and 1 lb = 0.45359237 kg exactly
 * (international yard and pound agreement, 1959); 1 rad = 180/pi deg; and within the SI.
 */
class UnitsTest {
  private static final String PATH = "Observation.value";

  @ParameterizedTest(name = "{0} {1} = {2} {3}")
  @CsvSource({
    "1, [in_i], 2.54, CENTIMETRE",
    "5, [in_i], 12.7, CENTIMETRE",
    "7.75, [in_i], 19.685, CENTIMETRE",
    "36, [in_i], 91.44, CENTIMETRE",
    "1, [ft_i], 30.48, CENTIMETRE",
    "1, [yd_i], 91.44, CENTIMETRE",
    "0.3, m, 30, CENTIMETRE",
    "175, mm, 17.5, CENTIMETRE",
    "8.5, cm, 8.5, CENTIMETRE",
    "1, [lb_av], 0.4536, KILOGRAM",
    "10000, [lb_av], 4535.9237, KILOGRAM",
    "160, [lb_av], 72.5748, KILOGRAM",
    "500, g, 0.5, KILOGRAM",
    "1, rad, 57.2958, DEGREE",
    "1.658, rad, 94.9964, DEGREE",
    "95, deg, 95, DEGREE",
    "1, h, 3600, SECOND",
    "1.5, min, 90, SECOND",
    "90, s, 1.5, MINUTE",
    "2, h, 120, MINUTE",
    "7, {score}, 7, SCORE",
    "7, 1, 7, SCORE",
    "12, {set}, 12, COUNT",
    "-5, deg, -5, DEGREE",
    "0, [in_i], 0, CENTIMETRE",
  })
  void convertsByPublishedConstants(String value, String ucum, String expected, Unit unit) {
    assertEquals(Amount.of(expected, unit), Units.amount(quantity(value, ucum), unit, PATH));
  }

  @Test
  void aRadianIs180OverPiDegrees() {
    BigDecimal expected =
        BigDecimal.valueOf(100_000 * 180 / Math.PI).setScale(4, java.math.RoundingMode.HALF_UP);
    assertEquals(
        new Amount(expected, Unit.DEGREE),
        Units.amount(quantity("100000", "rad"), Unit.DEGREE, PATH));
  }

  @ParameterizedTest(name = "{0} is no {1}")
  @CsvSource({
    "cm, DEGREE",
    "[in_i], DEGREE",
    "kg, CENTIMETRE",
    "{score}, CENTIMETRE",
    "%, SCORE",
    "%, COUNT",
    "cm, SCORE",
    "deg, SCORE",
    "lbs, KILOGRAM",
    "in, CENTIMETRE",
    "degrees, DEGREE",
    "°, DEGREE",
    "Cel, DEGREE",
  })
  void refusesWhatMeasuresSomethingElseOrIsNoUcum(String ucum, Unit unit) {
    assertRefused(
        () -> Units.amount(quantity("5", ucum), unit, PATH), "WRONG_UNIT Observation.value.code");
  }

  @ParameterizedTest
  @ValueSource(
      strings = {
        "((((((",
        ")",
        "/",
        "cm/",
        "//cm",
        "cm.",
        "10*",
        "10*99999.m",
        "m99999999999",
        "Ym40",
        "10*30.m",
        "1000000000000000000000000.m",
        "{",
        "}",
        "{a",
        "a}",
        "[",
        "]",
        "^",
        "-",
        "+",
        "cm cm",
        "\u0000",
        "\ud83d",
        "1.1.1",
        "m-m",
        "'",
        "m'2"
      })
  @Timeout(5)
  void refusesNonsenseWithoutBreaking(String ucum) {
    assertRefused(
        () -> Units.amount(quantity("5", ucum), Unit.CENTIMETRE, PATH),
        "WRONG_UNIT Observation.value.code");
  }

  @Test
  void readsTheUnitByItsCodeNeverByItsText() {
    Quantity text = new Quantity().setValue(5).setUnit("cm");
    assertRefused(
        () -> Units.amount(text, Unit.CENTIMETRE, PATH), "WRONG_UNIT Observation.value.code");
    Quantity misleading = quantity("5", "[in_i]").setUnit("cm");
    assertEquals(
        Amount.of("12.7", Unit.CENTIMETRE), Units.amount(misleading, Unit.CENTIMETRE, PATH));
  }

  @Test
  void refusesACodeOfAnotherSystem() {
    assertRefused(
        () -> Units.amount(quantity("5", "cm").setSystem(Codes.SNOMED), Unit.CENTIMETRE, PATH),
        "WRONG_UNIT Observation.value.system");
    assertRefused(
        () -> Units.amount(quantity("5", "cm").setSystem(null), Unit.CENTIMETRE, PATH),
        "WRONG_UNIT Observation.value.system");
  }

  @Test
  void aMissingValueIsAbsentNeverZero() {
    Quantity empty = new Quantity().setSystem(Codes.UCUM).setCode("cm");
    assertEquals(Optional.empty(), Units.find(empty, Unit.CENTIMETRE, PATH));
    assertEquals(Optional.empty(), Units.findAny(empty, PATH));
    assertRefused(
        () -> Units.amount(empty, Unit.CENTIMETRE, PATH), "MISSING Observation.value.value");
  }

  @Test
  void refusesAComparator() {
    Quantity more = quantity("5", "cm").setComparator(QuantityComparator.GREATER_THAN);
    assertRefused(
        () -> Units.amount(more, Unit.CENTIMETRE, PATH),
        "UNSUPPORTED Observation.value.comparator");
  }

  @ParameterizedTest
  @ValueSource(
      strings = {"1e400", "1e999999999", "1000000000", "1e-400", "0.1234567890123456789", "-1e9"})
  void refusesNumbersBeyondTheStatedLimits(String number) {
    assertRefused(
        () -> Units.amount(quantity(number, "cm"), Unit.CENTIMETRE, PATH),
        "OUT_OF_RANGE Observation.value.value");
  }

  @Test
  void takesTheLargestNumberBelowTheLimit() {
    assertEquals(
        Amount.of("999999999", Unit.CENTIMETRE),
        Units.amount(quantity("999999999", "cm"), Unit.CENTIMETRE, PATH));
  }

  @ParameterizedTest(name = "{0} {1} is read as {2} {3}")
  @CsvSource({
    "5, [in_i], 12.7, CENTIMETRE",
    "20, min, 20, MINUTE",
    "1, h, 3600, SECOND",
    "2, [lb_av], 0.9072, KILOGRAM",
    "1, rad, 57.2958, DEGREE",
    "3, {step}, 3, COUNT",
    "3, {score}, 3, SCORE",
  })
  void findsOurUnitOfTheSameKind(String value, String ucum, String expected, Unit unit) {
    assertEquals(
        Optional.of(Amount.of(expected, unit)), Units.findAny(quantity(value, ucum), PATH));
  }

  @Test
  void findsNoUnitOfAKindThatIsNotKnownHere() {
    assertRefused(
        () -> Units.findAny(quantity("37", "Cel"), PATH), "WRONG_UNIT Observation.value.code");
    assertTrue(Units.hasUnit(quantity("37", "Cel")));
  }
}
