package org.tidemark.demand;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Map;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/** What is measured of a person is taken; the rest is estimated, and says so. */
class BodyTest {
  private static final Map<String, Value> MEASURED =
      Map.of(
          "body-height", Amount.of("175", Unit.CENTIMETRE),
          "body-weight", Amount.of("80", Unit.KILOGRAM),
          "shank-length", Amount.of("41", Unit.CENTIMETRE),
          "thigh-length", Amount.of("42", Unit.CENTIMETRE),
          "calf-girth", Amount.of("39", Unit.CENTIMETRE),
          "thigh-girth", Amount.of("62", Unit.CENTIMETRE),
          "wall-lunge-distance", Amount.of("12", Unit.CENTIMETRE));

  @Test
  void whatIsMeasuredIsTaken() {
    Body body = Body.of(MEASURED);
    assertEquals(List.of(), body.estimated());
    assertEquals(Estimate.measured(1.75), body.stature());
    assertEquals(Estimate.measured(80), body.mass());
    assertEquals(0.41, body.shank().at(2), 1e-12);
    assertEquals(0.42, body.thigh().at(-2), 1e-12);
    assertEquals(0.39, body.calfGirth().at(1), 1e-12);
  }

  @Test
  void whatIsNotMeasuredIsEstimatedWithItsSpread() {
    Body body = Body.of(Map.of());
    assertEquals(
        List.of(
            "body-height",
            "body-weight",
            "shank-length",
            "thigh-length",
            "calf-girth",
            "thigh-girth",
            "wall-lunge-distance"),
        body.estimated());
    for (Estimate estimate :
        List.of(
            body.stature(),
            body.mass(),
            body.shank(),
            body.thigh(),
            body.calfGirth(),
            body.lowerThighGirth(),
            body.ankleTilt())) {
      assertFalse(estimate.measured());
      assertTrue(estimate.spread() > 0);
    }
  }

  /** Lengths from stature alone spread by 3.5 to 5 % between people (ANSUR II 2012). */
  @Test
  void segmentsFromAMeasuredStatureSpreadByAFewPercent() {
    Body body = Body.of(Map.of("body-height", Amount.of("175", Unit.CENTIMETRE)));
    assertEquals(0.4305, body.shank().middle(), 1e-9);
    assertEquals(0.42875, body.thigh().middle(), 1e-9);
    assertEquals(0.0415, body.shank().spread() / body.shank().middle(), 0.001);
    assertEquals(0.0469, body.thigh().spread() / body.thigh().middle(), 0.001);
    assertTrue(Body.of(Map.of()).shank().spread() > body.shank().spread());
  }

  /** 0.409 / 0.625 in men, 0.401 / 0.616 in women (ANSUR II 2012). */
  @Test
  void theLowerThighFollowsFromTheThickest() {
    Estimate lower = Body.of(MEASURED).lowerThighGirth();
    assertEquals(0.62 * 0.409 / 0.625, lower.middle(), 0.002);
    assertTrue(lower.measured());
    assertTrue(lower.spread() < Body.of(Map.of()).lowerThighGirth().spread());
  }

  /** Calatayud 2015 and the usual limit: 12 cm and 40.6 degrees, 9 cm and 35; shank 0.42 m. */
  @ParameterizedTest(name = "{0} cm: {1} degrees")
  @CsvSource({"9.1, 35", "12.0, 40"})
  void aWallLungeIsATilt(double centimetres, double degrees) {
    assertEquals(degrees, Body.tilt(centimetres / 100, 0.42), 0.2);
  }

  /** 1.5 to 1.9 degrees for a centimetre, not the 3.6 that circulate. */
  @Test
  void aCentimetreOfWallLungeIsLessThanTwoDegrees() {
    double perCentimetre = Body.tilt(0.11, 0.42) - Body.tilt(0.10, 0.42);
    assertEquals(1.7, perCentimetre, 0.2);
  }

  @ParameterizedTest(name = "{0} {1} {2}: measured {3}")
  @CsvSource({
    "body-height, 99.9, CENTIMETRE, false",
    "body-height, 100, CENTIMETRE, true",
    "body-height, 250, CENTIMETRE, true",
    "body-height, 250.1, CENTIMETRE, false",
    "body-height, 175, KILOGRAM, false",
    "body-weight, 24.9, KILOGRAM, false",
    "body-weight, 25, KILOGRAM, true",
    "body-weight, 350, KILOGRAM, true",
    "body-weight, 350.1, KILOGRAM, false",
    "calf-girth, 14.9, CENTIMETRE, false",
    "calf-girth, 15, CENTIMETRE, true",
    "thigh-girth, 24.9, CENTIMETRE, false",
    "thigh-girth, 120, CENTIMETRE, true",
    "wall-lunge-distance, 0, CENTIMETRE, true",
    "wall-lunge-distance, -0.1, CENTIMETRE, false"
  })
  void whatNoAdultMeasuresCountsAsUnknown(String item, String number, Unit unit, boolean measured) {
    Body body = Body.of(Map.of(item, Amount.of(number, unit)));
    assertEquals(measured, !body.estimated().contains(item));
  }
}
