package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/**
 * MDC95 = 1.96·√2·SEM. The expected values are worked by hand to two decimals: √2 = 1.41421, times
 * 1.96 = 2.77186, times SEM.
 */
class MinimalDetectableChangeTest {

  @ParameterizedTest(name = "SEM {0}°: {1}°")
  @CsvSource({"2, 5.54", "3, 8.32", "4, 11.09", "5, 13.86"})
  void followsTheFormula(String error, double expected) {
    var change = new MinimalDetectableChange(Amount.of(error, Unit.DEGREE));
    assertEquals(expected, change.at95(), 0.01);
  }

  @ParameterizedTest(name = "from {0}° to {1}°: {2}")
  @CsvSource({
    "118, 129.08, false",
    "118, 129.09, true",
    "129.09, 118, true",
    "129.08, 118, false",
    "118, 118, false"
  })
  void aChangeIsShownFromTheLimitOn(String first, String second, boolean shown) {
    var change = new MinimalDetectableChange(MinimalDetectableChange.JOINT_ANGLE_ERROR);
    assertEquals(
        shown, change.isShown(Amount.of(first, Unit.DEGREE), Amount.of(second, Unit.DEGREE)));
  }

  @Test
  void isKnownForAnglesOnly() {
    assertTrue(MinimalDetectableChange.of(Unit.DEGREE).isPresent());
    assertTrue(MinimalDetectableChange.of(Unit.CENTIMETRE).isEmpty());
  }

  @Test
  void refusesAnErrorOfNothingAndAnotherUnit() {
    assertThrows(
        IllegalArgumentException.class,
        () -> new MinimalDetectableChange(Amount.zero(Unit.DEGREE)));
    var change = new MinimalDetectableChange(MinimalDetectableChange.JOINT_ANGLE_ERROR);
    Amount length = Amount.of(10, Unit.CENTIMETRE);
    assertThrows(IllegalArgumentException.class, () -> change.isShown(length, length));
  }
}
