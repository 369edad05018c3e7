package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Arrays;
import java.util.Optional;
import org.junit.jupiter.api.Test;

/**
 * A plateau: the slope's whole interval within ± MDC95 in 12 weeks, 9.70 / 12 = 0.81 degrees a week
 * for a goniometer, over six weeks or more.
 */
class PlateauTest {

  @Test
  void theSmallestWorthwhileRate() {
    RangeSeries series = RangeSeries.of(Weekly.readings(MeasuringMethod.GONIOMETER, 118, 119));
    assertEquals(9.7015 / 12, Plateau.worthwhilePerWeek(series), 1e-5);
  }

  @Test
  void aRangeThatStandsStillForAYear() {
    double[] degrees = new double[52];
    Arrays.setAll(degrees, week -> 118 + week % 3);
    Plateau plateau = Plateau.find(Weekly.trend(degrees)).orElseThrow();
    assertTrue(plateau.since().isBefore(Weekly.START.plusWeeks(15)), plateau.toString());
    assertEquals(9.7015 / 12, plateau.worthwhilePerWeek(), 1e-5);
  }

  /** Gains for 16 weeks, then none: the plateau starts where the gain ended, give or take five. */
  @Test
  void beginsWhereTheGainEnds() {
    double[] degrees = new double[40];
    Arrays.setAll(degrees, week -> 100 + 1.5 * Math.min(week, 16));
    Plateau plateau = Plateau.find(Weekly.trend(degrees)).orElseThrow();
    assertTrue(plateau.since().isAfter(Weekly.START.plusWeeks(11)), plateau.toString());
    assertTrue(plateau.since().isBefore(Weekly.START.plusWeeks(24)), plateau.toString());
  }

  @Test
  void aSteadyGainIsNone() {
    double[] degrees = new double[30];
    Arrays.setAll(degrees, week -> 90 + 1.5 * week);
    assertEquals(Optional.empty(), Plateau.find(Weekly.trend(degrees)));
  }

  /** A steady loss is no plateau either. */
  @Test
  void aSteadyLossIsNone() {
    double[] degrees = new double[30];
    Arrays.setAll(degrees, week -> 135 - 1.5 * week);
    assertEquals(Optional.empty(), Plateau.find(Weekly.trend(degrees)));
  }

  /** Few readings show no change, and show no plateau either. */
  @Test
  void notKnowingIsNoPlateau() {
    assertEquals(Optional.empty(), Plateau.find(Weekly.trend(118)));
    assertEquals(Optional.empty(), Plateau.find(Weekly.trend(118, 119, 118)));
  }
}
