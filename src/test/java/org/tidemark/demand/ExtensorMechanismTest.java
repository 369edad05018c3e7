package org.tidemark.demand;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/** The fits of van Eijden 1986/87 and Brechter and Powers 2002, and the ends of their domain. */
class ExtensorMechanismTest {
  /** The cubic worked out by hand, to a hundredth of a millimetre. */
  @ParameterizedTest(name = "{0} degrees: {1} mm")
  @CsvSource({"0, 46.00", "30, 44.86", "45, 39.57", "60, 33.28", "75, 27.63", "90, 24.22"})
  void theLeverArmShrinksWithFlexion(double flexion, double millimetres) {
    assertEquals(millimetres, 1000 * ExtensorMechanism.leverArm(flexion), 0.006);
  }

  /**
   * Measured in living men, 10 to 50 degrees: 45.5 to 32.9 mm (PMC4662057); the fit is within 20 %.
   */
  @ParameterizedTest(name = "{0} degrees: {1} mm measured")
  @CsvSource({"10, 45.5", "50, 32.9"})
  void theLeverArmIsNearTheMeasuredOne(double flexion, double millimetres) {
    assertEquals(millimetres, 1000 * ExtensorMechanism.leverArm(flexion), 0.2 * millimetres);
  }

  @ParameterizedTest(name = "{0} degrees: {1}")
  @CsvSource({"0, 0.4620", "30, 0.7430", "60, 0.9465", "75, 0.9830", "90, 0.9813"})
  void theForceRatioIsThePublishedOne(double flexion, double ratio) {
    assertEquals(ratio, ExtensorMechanism.forceRatio(flexion), 0.00006);
  }

  /**
   * The cubic turns upward at 96.2 degrees, the fraction has its pole at 128.19 and is negative at
   * 130.
   */
  @ParameterizedTest(name = "{0} degrees stands for 90")
  @ValueSource(doubles = {90, 90.1, 96.2, 96.3, 100, 100.1, 128.19, 130, 140, 165})
  void beyondNinetyDegreesBothStandStill(double flexion) {
    assertEquals(ExtensorMechanism.leverArm(90), ExtensorMechanism.leverArm(flexion), 0);
    assertEquals(ExtensorMechanism.forceRatio(90), ExtensorMechanism.forceRatio(flexion), 0);
    assertEquals(ExtensorMechanism.gain(90), ExtensorMechanism.gain(flexion), 0);
  }

  @Test
  void belowNinetyDegreesTheyStillMove() {
    assertTrue(ExtensorMechanism.leverArm(89.9) > ExtensorMechanism.leverArm(90));
    assertTrue(ExtensorMechanism.gain(89.9) < ExtensorMechanism.gain(90));
    assertEquals(0.98129 / 0.02422, ExtensorMechanism.gain(90), 0.01);
  }

  @ParameterizedTest
  @ValueSource(doubles = {-0.1, Double.NaN})
  void aKneeBentBackwardHasNone(double flexion) {
    assertThrows(IllegalArgumentException.class, () -> ExtensorMechanism.leverArm(flexion));
    assertThrows(IllegalArgumentException.class, () -> ExtensorMechanism.forceRatio(flexion));
  }
}
