package org.tidemark.demand;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/** Statics of the front leg, against a calculation by hand and what was measured in people. */
class FrontLegTest {
  private static final double STATURE = 1.75;
  private static final double WEIGHT = 80 * 9.81;
  private static final FrontLeg.Segments LEG = FrontLeg.Segments.of(STATURE);

  /** A setting worked out by hand; forces in body weights. */
  private record Case(
      double flexion, double tilt, double share, double load, double assist, double pressure) {

    static Case at(double flexion, double tilt) {
      return new Case(flexion, tilt, 0.75, 0, 0, 0.05);
    }

    double bending() {
      double support = FrontLeg.support(share, load, assist);
      double knee = LEG.shank() * Math.sin(Math.toRadians(tilt));
      return FrontLeg.bendingMoment(support, knee, pressure, LEG.foot());
    }

    double force(double contact) {
      return FrontLeg.kneecapForce(flexion, bending(), contact);
    }

    double force() {
      return force(Contact.moment(flexion, 130));
    }
  }

  /**
   * H 1.75 m, M 80 kg, share 0.75, pressure 0.05 m ahead of the ankle; moments in N m, force in
   * body weights, contact by the published polynomials from 140 degrees on.
   */
  @ParameterizedTest(name = "{0} degrees bent, {1} tilted: {2} N m, {3} N m, {4} BW")
  @CsvSource({
    "30, 10, 13.30, 0, 0.28",
    "60, 20, 53.99, 0, 1.96",
    "90, 25, 73.47, 0, 3.79",
    "140, 34, 106.48, 6.15, 5.18",
    "150, 35, 109.95, 22.24, 4.53",
    "155, 35, 109.95, 40.00, 3.61"
  })
  void theHandCalculation(
      double flexion, double tilt, double moment, double contact, double force) {
    Case worked = Case.at(flexion, tilt);
    assertEquals(moment, worked.bending() * WEIGHT, 0.005 * moment);
    double taken = contact == 0 ? 0 : PublishedContact.moment(flexion) / 100;
    assertEquals(contact, taken * WEIGHT, 0.005 * contact + 1e-9);
    assertEquals(force, worked.force(taken), 0.005 * force + 0.005);
  }

  /** The same at 90 degrees and 25 of tilt, one thing changed. */
  @ParameterizedTest(name = "share {0}, {1} kg, {2} N on the hands, {3} m, tilt {4}: {5} BW")
  @CsvSource({
    "0.75, 0, 200, 0.05, 25, 2.77",
    "0.75, 20, 0, 0.05, 25, 4.80",
    "0.50, 0, 0, 0.05, 25, 2.46",
    "0.60, 0, 0, 0.05, 25, 2.99",
    "0.85, 0, 0, 0.05, 25, 4.33",
    "0.75, 0, 0, 0.00, 25, 5.31",
    "0.75, 0, 0, 0.10, 25, 2.27",
    "0.75, 0, 0, 0.05, 10, 0.69",
    "0.75, 0, 0, 0.05, 40, 6.54"
  })
  void oneThingChanged(
      double share, double load, double hands, double pressure, double tilt, double force) {
    Case worked = new Case(90, tilt, share, load / 80, hands / WEIGHT, pressure);
    assertEquals(force, worked.force(), 0.005 * force + 0.005);
  }

  /** Winter 2009, table 4.1. */
  @Test
  void theMassesOfTheSegmentsAddUp() {
    double leg = FrontLeg.FOOT_MASS + FrontLeg.SHANK_MASS + FrontLeg.THIGH_MASS;
    assertEquals(1, FrontLeg.UPPER_MASS + 2 * leg, 1e-9);
    assertEquals(0.530, FrontLeg.ANKLE_HEIGHT + FrontLeg.SHANK + FrontLeg.THIGH, 1e-9);
  }

  /** De Leva 1996, J Biomech 29:1223-30, a second opinion: men and women, and near to Winter's. */
  @ParameterizedTest(name = "{0}")
  @CsvSource({
    "men, 1.0000, .4346, .1416, .0433, .0137, .0694, .0271, .0162, .0061",
    "women, 0.9999, .4257, .1478, .0481, .0129, .0668, .0255, .0138, .0056"
  })
  void soDoTheOnesOfASecondSource(
      String whose,
      double sum,
      double trunk,
      double thigh,
      double shank,
      double foot,
      double head,
      double upperArm,
      double forearm,
      double hand) {
    double paired = thigh + shank + foot + upperArm + forearm + hand;
    assertEquals(sum, trunk + head + 2 * paired, 1e-9);
    assertEquals(FrontLeg.SHANK_MASS, shank, 0.005);
    assertEquals(FrontLeg.FOOT_MASS, foot, 0.002);
  }

  @Test
  void theLengthsForAStature() {
    assertEquals(0.42875, LEG.thigh(), 1e-9);
    assertEquals(0.4305, LEG.shank(), 1e-9);
    assertEquals(0.06825, FrontLeg.ANKLE_HEIGHT * STATURE, 1e-9);
    assertEquals(0.266, LEG.foot(), 1e-9);
  }

  @ParameterizedTest(name = "{0} degrees")
  @ValueSource(doubles = {0, 30, 60, 90, 120, 140, 155})
  void hipAndAnkleObeyTheLawOfCosines(double flexion) {
    FrontLeg.Stance stance =
        FrontLeg.stance(LEG.shank(), LEG.thigh(), 0, flexion, FrontLeg.usualTilt(flexion));
    double squared = stance.hip() * stance.hip() + stance.hipHeight() * stance.hipHeight();
    double expected =
        LEG.shank() * LEG.shank()
            + LEG.thigh() * LEG.thigh()
            + 2 * LEG.shank() * LEG.thigh() * Math.cos(Math.toRadians(flexion));
    assertEquals(expected, squared, 1e-12);
  }

  @Test
  void theHipRisesByTheStepExactly() {
    FrontLeg.Stance floor = FrontLeg.stance(LEG.shank(), LEG.thigh(), 0.07, 140, 34);
    assertEquals(floor.hipHeight() + 0.35, floor.onStep(0.35).hipHeight(), 1e-12);
    assertEquals(floor.hip(), floor.onStep(0.35).hip(), 0);
  }

  @Test
  void standingUprightAsksNearlyNothing() {
    Case upright = new Case(0, 0, 0.75, 0, 0, 0);
    assertEquals(0, upright.bending(), 0.002);
    assertEquals(0, upright.force(), 0.02);
  }

  @Test
  void moreOfEachAsksMore() {
    double now = Case.at(90, 25).force();
    assertTrue(new Case(90, 25, 0.76, 0, 0, 0.05).force() > now, "share");
    assertTrue(new Case(90, 25, 0.75, 0.01, 0, 0.05).force() > now, "load");
    assertTrue(new Case(90, 26, 0.75, 0, 0, 0.05).force() > now, "tilt: knee past the toes");
    assertTrue(new Case(90, 25, 0.75, 0, 0.01, 0.05).force() < now, "hands");
    assertTrue(new Case(90, 25, 0.75, 0, 0, 0.06).force() < now, "pressure forward");
  }

  /**
   * Force rises with flexion in squat and lunge: lower at 0, 15, 30 than at 60, 75, 90 (Powers
   * 2014, JOSPT 44:320-7), and all the way to 90 (Escamilla 2008, JOSPT 38:681-90).
   */
  @Test
  void flexionToNinetyDegreesAsksMore() {
    double before = 0;
    for (int flexion = 25; flexion <= 90; flexion += 5) {
      double force = Case.at(flexion, FrontLeg.usualTilt(flexion)).force();
      assertTrue(force > before, "at " + flexion);
      before = force;
    }
  }

  /** In the usual posture 60 and 90 degrees lie within 1 to 5 body weights. */
  @ParameterizedTest
  @ValueSource(doubles = {60, 90})
  void theUsualPostureIsPlausible(double flexion) {
    double force = Case.at(flexion, FrontLeg.usualTilt(flexion)).force();
    assertTrue(force >= 1 && force <= 5, force + " BW");
  }

  /**
   * The way down asks more than its end (Glitsch 2022: 3.4 against 0.9 to 1.1 BW). The order holds;
   * the drop does not reach the measured 3.1 to 3.8 times, which is a known misfit.
   */
  @ParameterizedTest(name = "contact times {0}")
  @ValueSource(doubles = {1, 2, 3})
  void theWayDownAsksMoreThanTheEnd(double factor) {
    double transit = 0;
    for (double flexion = 60; flexion <= 140; flexion++) {
      Case passing = Case.at(flexion, FrontLeg.usualTilt(flexion));
      transit = Math.max(transit, passing.force(factor * Contact.moment(flexion, 130)));
    }
    double end = Case.at(155, 35).force(factor * Contact.moment(155, 130));
    assertTrue(transit > 1.2 * end, transit + " and " + end);
    assertTrue(transit > 3.4 - 0.56, "at least what was measured: " + transit);
  }

  @Test
  void handsThatCarryEverythingLeaveNothing() {
    assertEquals(0, FrontLeg.support(0.75, 0.25, 1.25), 0);
    assertEquals(0, FrontLeg.support(0.75, 0.25, 1.3), 0);
    assertEquals(0.0075, FrontLeg.support(0.75, 0.25, 1.24), 1e-12);
    assertEquals(0, new Case(90, 25, 0.75, 0.25, 1.25, 0.05).force(), 0);
  }

  @Test
  void theQuadricepsNeverPushes() {
    assertEquals(0, FrontLeg.kneecapForce(150, 0.1, 0.2), 0);
    assertEquals(0, FrontLeg.kneecapForce(20, -0.01, 0), 0);
    assertTrue(FrontLeg.kneecapForce(150, 0.2, 0.1) > 0);
  }

  /** No more than 1 % for a tenth of a degree where one formula takes over from another. */
  @ParameterizedTest(name = "across {0} degrees, contact times {1}")
  @CsvSource({"90, 1", "130, 1", "140, 1", "90, 3", "130, 3", "140, 3"})
  void nothingJumps(double around, double factor) {
    for (double flexion = around - 1; flexion < around + 1; flexion += 0.1) {
      double here = bent(flexion, factor);
      double next = bent(flexion + 0.1, factor);
      assertEquals(here, next, 0.01 * here, "at " + flexion);
    }
  }

  /**
   * ACSM 2009 reckons 2 to 10 % of the load; of an exercise with body weight that is the whole: 2
   * kg on 80 kg are 2.5 %.
   */
  @Test
  void aLoadCountsBesideTheBody() {
    assertEquals(1.025, FrontLeg.support(1, 2.0 / 80, 0), 1e-12);
    assertEquals(1.025, FrontLeg.support(0.75, 2.0 / 80, 0) / FrontLeg.support(0.75, 0, 0), 1e-12);
  }

  /**
   * A higher step takes weight off the front foot; so does a trunk held upright, and a rear foot
   * nearer by. Level, it lies within the shares that were measured, 0.50 to 0.85.
   */
  @Test
  void theFrontFootCarriesLessOnAStep() {
    FrontLeg.Stance floor = FrontLeg.stance(LEG.shank(), LEG.thigh(), 0.068, 140, 34);
    double before = 1;
    for (double height = 0; height <= 0.451; height += 0.05) {
      double share = share(floor.onStep(height), 20, 1);
      assertTrue(share < before, "at " + height);
      before = share;
    }
    assertTrue(share(floor, 40, 1) > share(floor, 0, 1));
    assertTrue(share(floor, 20, 1) > share(floor, 20, 0.8));
    assertEquals(0.675, share(floor, 10, 1), 0.175);
  }

  /** With the hip higher than the rear leg is long, the rear foot stands below the hip. */
  @Test
  void theShareStaysAShare() {
    FrontLeg.Stance floor = FrontLeg.stance(LEG.shank(), LEG.thigh(), 0.068, 140, 34);
    double share = share(floor.onStep(1), 20, 1);
    assertTrue(share >= 0 && share < 0.5, "share " + share);
  }

  @ParameterizedTest(name = "bent {0}: tilted {1}")
  @CsvSource({"0, 0", "15, 5", "30, 10", "90, 25", "115, 29.5", "140, 34", "150, 35", "170, 35"})
  void theUsualTiltIsInterpolated(double flexion, double tilt) {
    assertEquals(tilt, FrontLeg.usualTilt(flexion), 1e-9);
  }

  private static double bent(double flexion, double factor) {
    return Case.at(flexion, FrontLeg.usualTilt(flexion))
        .force(factor * Contact.moment(flexion, 130));
  }

  private static double share(FrontLeg.Stance at, double lean, double reach) {
    double upper = FrontLeg.upperBodyAhead(STATURE, Math.sin(Math.toRadians(lean)));
    return FrontLeg.geometricShare(at, LEG, upper, reach, 0.05);
  }
}
