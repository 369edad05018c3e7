package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.junit.jupiter.api.Test;
import org.tidemark.trend.Mixture.Part;

class MixtureTest {

  /** The 97.5 % quantile of the standard normal distribution is 1.959964. */
  @Test
  void oneNormal() {
    Interval interval = new Mixture(List.of(new Part(1, 10, 2))).interval();
    assertEquals(10 - 2 * 1.959964, interval.low(), 1e-5);
    assertEquals(10, interval.estimate(), 1e-5);
    assertEquals(10 + 2 * 1.959964, interval.high(), 1e-5);
  }

  /** A quarter far below, the rest far above: 2.5 % of all is the lowest tenth of the quarter. */
  @Test
  void twoNormalsFarApart() {
    Mixture mixture = new Mixture(List.of(new Part(0.25, -100, 1), new Part(0.75, 100, 1)));
    Interval interval = mixture.interval();
    assertEquals(-100 - 1.281552, interval.low(), 1e-5);
    assertEquals(100 - 0.430727, interval.estimate(), 1e-5);
    assertEquals(100 + 1.833915, interval.high(), 1e-5);
  }

  @Test
  void withinALimitIsTheIntervalWithin() {
    Mixture centred = new Mixture(List.of(new Part(1, 0, 1)));
    assertTrue(centred.isWithin(1.96));
    assertFalse(centred.isWithin(1.9599));
    Mixture above = new Mixture(List.of(new Part(1, 1, 1)));
    assertTrue(above.isWithin(2.96));
    assertFalse(above.isWithin(2.9599));
    Mixture below = new Mixture(List.of(new Part(1, -1, 1)));
    assertTrue(below.isWithin(2.96));
    assertFalse(below.isWithin(2.9599));
  }
}
