package org.tidemark.quantity;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.math.BigDecimal;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.EnumSource;

/** Amounts compare by what they measure, and never across units. */
class AmountTest {

  @ParameterizedTest(name = "{0} kg equals {1} kg")
  @CsvSource({"20, 20.0", "20, 2e1", "0, 0.00", "0.5, 0.50"})
  void sameWeightIsEqual(String first, String second) {
    assertEquals(Amount.of(first, Unit.KILOGRAM), Amount.of(second, Unit.KILOGRAM));
    assertEquals(
        Amount.of(first, Unit.KILOGRAM).hashCode(), Amount.of(second, Unit.KILOGRAM).hashCode());
  }

  @Test
  void theSameNumberOfAnotherUnitIsNotEqual() {
    assertFalse(Amount.of(5, Unit.KILOGRAM).equals(Amount.of(5, Unit.CENTIMETRE)));
  }

  @Test
  void unitsAreNeverMixed() {
    Amount length = Amount.of(5, Unit.CENTIMETRE);
    Amount mass = Amount.of(5, Unit.KILOGRAM);
    assertThrows(IllegalArgumentException.class, () -> length.plus(mass));
    assertThrows(IllegalArgumentException.class, () -> length.minus(mass));
    assertThrows(IllegalArgumentException.class, () -> length.distanceTo(mass));
    assertThrows(IllegalArgumentException.class, () -> length.compareTo(mass));
  }

  @Test
  void sumsAreExact() {
    Amount tenth = Amount.of("0.1", Unit.CENTIMETRE);
    assertEquals(Amount.of("0.3", Unit.CENTIMETRE), tenth.plus(tenth).plus(tenth));
    assertEquals(Amount.of("0.3", Unit.CENTIMETRE), tenth.times(3));
    assertEquals(
        Amount.of("2.5", Unit.CENTIMETRE),
        Amount.of("1.5", Unit.CENTIMETRE).distanceTo(Amount.of(4, Unit.CENTIMETRE)));
  }

  @Test
  void neitherAboveNorBelowItself() {
    Amount five = Amount.of(5, Unit.DEGREE);
    assertFalse(five.isAbove(Amount.of("5.0", Unit.DEGREE)));
    assertFalse(five.isBelow(Amount.of("5.0", Unit.DEGREE)));
    assertTrue(five.isAbove(Amount.of("4.9", Unit.DEGREE)));
    assertTrue(five.isBelow(Amount.of("5.1", Unit.DEGREE)));
  }

  @Test
  void isWrittenAsInUcum() {
    assertEquals("17.5 cm", Amount.of("17.50", Unit.CENTIMETRE).toString());
    assertEquals("100 deg", Amount.of("1e2", Unit.DEGREE).toString());
    assertEquals("13", Amount.of(13, Unit.COUNT).toString());
  }

  @ParameterizedTest
  @EnumSource(Unit.class)
  void aUnitIsFoundByItsUcumCode(Unit unit) {
    assertEquals(unit, Unit.find(unit.ucum()).orElseThrow());
  }

  @Test
  void aUnitIsNotFoundByItsDisplayText() {
    assertTrue(Unit.find("CM").isEmpty());
    assertTrue(Unit.find("kilogram").isEmpty());
  }

  @ParameterizedTest(name = "pain {0} is on the scale: {1}")
  @CsvSource({"-0.1, false", "0, true", "10, true", "10.1, false", "11, false"})
  void painRunsFromZeroToTen(BigDecimal pain, boolean onTheScale) {
    if (onTheScale) {
      assertEquals(0, new PainScore(pain).value().compareTo(pain));
    } else {
      assertThrows(IllegalArgumentException.class, () -> new PainScore(pain));
    }
  }

  @Test
  void aGradeNeedsACode() {
    assertThrows(IllegalArgumentException.class, () -> new Grade(" "));
  }
}
