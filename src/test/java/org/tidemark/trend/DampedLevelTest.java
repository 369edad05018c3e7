package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;

import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.constraints.DoubleRange;
import org.hipparchus.linear.MatrixUtils;
import org.hipparchus.linear.RealMatrix;
import org.junit.jupiter.api.Test;

class DampedLevelTest {

  /** What makes irregular dates exact: a gap cut in two is the same gap. */
  @Property
  void twoGapsAreOne(
      @ForAll @DoubleRange(min = 0.01, max = 30) double first,
      @ForAll @DoubleRange(min = 0.01, max = 30) double second,
      @ForAll @DoubleRange(min = 0.01, max = 2) double damping) {
    DampedLevel model = new DampedLevel(0.7, 0.3, damping);
    RealMatrix later = model.transition(second);
    same(model.transition(first + second), later.multiply(model.transition(first)));
    same(
        model.noise(first + second),
        later.multiply(model.noise(first)).multiplyTransposed(later).add(model.noise(second)));
  }

  @Property
  void noTimeChangesNothing(@ForAll @DoubleRange(min = 0.01, max = 2) double damping) {
    DampedLevel model = new DampedLevel(0.7, 0.3, damping);
    same(MatrixUtils.createRealIdentityMatrix(2), model.transition(0));
    same(MatrixUtils.createRealMatrix(2, 2), model.noise(0));
  }

  /**
   * With hardly any damping the slope's noise is that of the integrated random walk: t³/3, t²/2 and
   * t.
   */
  @Test
  void withoutDampingItIsTheIntegratedRandomWalk() {
    RealMatrix noise = new DampedLevel(0, 1, 1e-4).noise(3);
    assertEquals(9, noise.getEntry(0, 0), 0.01);
    assertEquals(4.5, noise.getEntry(0, 1), 0.01);
    assertEquals(3, noise.getEntry(1, 1), 0.01);
    assertEquals(3, new DampedLevel(0, 1, 1e-4).carry(3), 0.001);
  }

  /** After one half-life half the slope is left and half of the gain is made. */
  @Test
  void halvesInAHalfLife() {
    DampedLevel model = new DampedLevel(1, 0, Math.log(2) / 6);
    assertEquals(0.5, model.slopeLeft(6), 1e-12);
    assertEquals(0.5, model.carry(6) / model.carryForEver(), 1e-12);
    assertEquals(0.75, model.carry(12) / model.carryForEver(), 1e-12);
  }

  @Test
  void refusesWhatIsNoModel() {
    assertThrows(IllegalArgumentException.class, () -> new DampedLevel(-1, 0, 1));
    assertThrows(IllegalArgumentException.class, () -> new DampedLevel(0, -1, 1));
    assertThrows(IllegalArgumentException.class, () -> new DampedLevel(0, 0, 0));
    assertThrows(IllegalArgumentException.class, () -> new DampedLevel(Double.NaN, 0, 1));
  }

  private static void same(RealMatrix expected, RealMatrix found) {
    for (int i = 0; i < 2; i++) {
      for (int j = 0; j < 2; j++) {
        double size = 1 + Math.abs(expected.getEntry(i, j));
        assertEquals(expected.getEntry(i, j), found.getEntry(i, j), 1e-9 * size);
      }
    }
  }
}
