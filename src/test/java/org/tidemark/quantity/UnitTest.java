package org.tidemark.quantity;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;

import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/** Units by their UCUM codes. */
class UnitTest {
  @ParameterizedTest
  @CsvSource({
    "CENTIMETRE, cm",
    "DEGREE, deg",
    "KILOGRAM, kg",
    "MINUTE, min",
    "SECOND, s",
    "SCORE, {score}",
    "COUNT, 1"
  })
  void aUnitIsFoundByItsCode(Unit unit, String code) {
    assertEquals(code, unit.ucum());
    assertEquals(Optional.of(unit), Unit.find(code));
  }

  @Test
  void aCodeThatIsNotOursIsNotFound() {
    assertEquals(Optional.empty(), Unit.find("m"));
    assertEquals(Optional.empty(), Unit.find("CM"));
  }

  @Test
  void aGradeNeedsACode() {
    assertEquals("none", new Grade("none").code());
    assertThrows(IllegalArgumentException.class, () -> new Grade(" "));
  }

  @Test
  void amountsOfTwoUnitsDoNotMix() {
    Amount height = Amount.of(1, Unit.CENTIMETRE);
    Amount load = Amount.of(1, Unit.KILOGRAM);
    assertThrows(IllegalArgumentException.class, () -> height.plus(load));
    assertThrows(IllegalArgumentException.class, () -> height.minus(load));
    assertThrows(IllegalArgumentException.class, () -> height.distanceTo(load));
    assertThrows(IllegalArgumentException.class, () -> height.compareTo(load));
  }

  @Test
  void anAmountIsWrittenWithItsUnitACountWithout() {
    assertEquals("17.5 cm", Amount.of("17.50", Unit.CENTIMETRE).toString());
    assertEquals("3", Amount.of(3, Unit.COUNT).toString());
    assertEquals("200", Amount.of("2e2", Unit.COUNT).toString());
  }

  @Test
  void amountsAreReckonedInTheirUnit() {
    Amount step = Amount.of("17.5", Unit.CENTIMETRE);
    assertEquals(Amount.of(35, Unit.CENTIMETRE), step.times(2));
    assertEquals(Amount.of("22.5", Unit.CENTIMETRE), step.plus(Amount.of(5, Unit.CENTIMETRE)));
    assertEquals(Amount.of("12.5", Unit.CENTIMETRE), step.minus(Amount.of(5, Unit.CENTIMETRE)));
    assertEquals(
        Amount.of("2.5", Unit.CENTIMETRE), step.distanceTo(Amount.of(20, Unit.CENTIMETRE)));
  }
}
