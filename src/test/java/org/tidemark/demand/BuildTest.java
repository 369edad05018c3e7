package org.tidemark.demand;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Map;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/** The body of the pictures is that of the demand models. */
class BuildTest {
  private static final double EXACT = 1e-12;
  private static final Build BUILD = Build.of(Map.of(Body.HEIGHT, Amount.of(170, Unit.CENTIMETRE)));

  @Test
  void whatWasMeasuredReplacesWhatIsUsual() {
    Build measured =
        Build.of(
            Map.of(
                Body.SHANK_LENGTH, Amount.of(44, Unit.CENTIMETRE),
                Body.THIGH_LENGTH, Amount.of(41, Unit.CENTIMETRE),
                Body.CALF_GIRTH, Amount.of(36, Unit.CENTIMETRE)));
    assertEquals(0.44, measured.shank(), EXACT);
    assertEquals(0.41, measured.thigh(), EXACT);
    assertEquals(0.36, 2 * Math.PI * measured.calfRadius(), EXACT);
    assertEquals(0.246 * 1.70, BUILD.shank(), EXACT);
  }

  /** Up to the hip the segments add up to Winter's height of the hip, 0.530 of stature. */
  @Test
  void aStraightLegIsAsHighAsWinterSays() {
    assertEquals(0.530 * 1.70, BUILD.squat(0, false, 0).hipHeight(), EXACT);
  }

  @ParameterizedTest(name = "{0} deg, heel raised {1}, on {2} m")
  @CsvSource({"140, true, 0", "140, true, 0.36", "140, false, 0.10", "90, false, 0", "30, true, 0"})
  void theSquatStandsAsTheFrontLegModelStands(double flexion, boolean raised, double height) {
    Build.Squat squat = BUILD.squat(flexion, raised, height);
    double heel = raised ? 12 * Math.min(1, flexion / 60) : 0;
    FrontLeg.Stance stance =
        FrontLeg.stance(
                BUILD.shank(),
                BUILD.thigh(),
                BUILD.ankleHeight(),
                flexion,
                FrontLeg.usualTilt(flexion) + heel)
            .onStep(height);
    assertEquals(stance.knee(), squat.knee(), EXACT);
    assertEquals(stance.hip(), squat.hip(), EXACT);
    assertEquals(stance.hipHeight(), squat.hipHeight(), EXACT);
    double leg = BUILD.shank() + BUILD.thigh() + BUILD.ballAhead();
    double reached = Math.hypot(squat.hip() - squat.rearBall(), squat.hipHeight());
    assertEquals(0.97 * leg, reached, EXACT);
  }

  @Test
  void aStiffAnkleKeepsTheShankUprightOverAFlatHeelOnly() {
    Build stiff = Build.of(Map.of(Body.WALL_LUNGE, Amount.of(0, Unit.CENTIMETRE)));
    assertTrue(stiff.ankleTilt() < 25);
    assertEquals(stiff.ankleTilt(), stiff.tilt(140), EXACT);
    assertTrue(stiff.squat(140, false, 0).knee() < stiff.squat(140, true, 0).knee());
  }

  @Test
  void aTowelKeepsCalfAndThighApartByItsThickness() {
    assertEquals(
        Contact.onset(BUILD.calfGirth(), BUILD.lowerThighGirth(), 0.15),
        BUILD.contactFlexion(0),
        EXACT);
    double half = Math.toRadians((180 - BUILD.contactFlexion(0.05)) / 2);
    double apart = 2 * 0.15 * Math.sin(half) - BUILD.calfRadius() - BUILD.thighRadius();
    assertEquals(0.05, apart, EXACT);
  }

  /** With the lean that is given, the sum of the masses' moments about the middle is nothing. */
  @Test
  void aPersonOnTwoLegsIsBalanced() {
    double knee = 0.25;
    double hip = -0.15;
    double middle = 0.06;
    double lean = BUILD.balancedLean(knee, hip, middle);
    double upper = hip + 0.626 * 0.288 * 1.70 * Math.sin(Math.toRadians(lean));
    double thigh = hip + 0.433 * (knee - hip);
    double shank = (1 - 0.433) * knee;
    assertEquals(
        0,
        0.678 * (upper - middle) + 2 * 0.100 * (thigh - middle) + 2 * 0.0465 * (shank - middle),
        1e-9);
  }
}
