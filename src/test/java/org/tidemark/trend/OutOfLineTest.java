package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.ArrayList;
import java.util.List;
import java.util.Set;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.trend.LevelFilter.Observed;
import org.tidemark.trend.LevelFilter.State;

/** Readings more than 3 standard deviations from what the others say hardly count. */
class OutOfLineTest {
  private static final double[] STEADY = {118, 120, 117, 121, 119, 122, 120, 118, 123, 121};

  @ParameterizedTest(name = "{1}° as reading {0}")
  @CsvSource({
    "0, 20", "0, 165", "4, 20", "4, 165", "8, 20", "8, 165", "9, 20", "9, 165", "9, 0", "1, 60"
  })
  void oneAbsurdReadingDoesNotTurnTheTrend(int at, double absurd) {
    double[] spoilt = STEADY.clone();
    spoilt[at] = absurd;
    Trend clean = Weekly.trend(STEADY);
    Trend trend = Weekly.trend(spoilt);
    assertEquals(List.of(absurd), trend.outOfLine().stream().map(Reading::degrees).toList());
    assertEquals(clean.level().estimate(), trend.level().estimate(), 1.5);
    assertEquals(clean.slopePerWeek().estimate(), trend.slopePerWeek().estimate(), 0.35);
    assertEquals(List.of(), clean.outOfLine());
  }

  /** Of three, one can be out of line; of two, nobody can tell which. */
  @Test
  void needsThree() {
    assertEquals(List.of(), Weekly.trend(118, 20).outOfLine());
    assertEquals(1, Weekly.trend(118, 20, 119).outOfLine().size());
    assertEquals(20, Weekly.trend(118, 119, 20).outOfLine().get(0).degrees());
    assertEquals(20, Weekly.trend(20, 119, 118).outOfLine().get(0).degrees());
  }

  @Test
  void atMostOneInThree() {
    assertEquals(1, Weekly.trend(118, 20, 119, 165, 118).outOfLine().size());
    assertEquals(2, Weekly.trend(118, 20, 119, 165, 118, 120).outOfLine().size());
  }

  /** A jump that stays is believed after a few readings. */
  @Test
  void aJumpThatStaysIsBelieved() {
    Trend trend = Weekly.trend(100, 101, 99, 100, 120, 121, 119, 120, 121);
    assertEquals(120, trend.level().estimate(), 2.5);
  }

  /**
   * Three readings of one time and no wander: the two others say 118 ± 3.5 / √2, so the third is 3
   * deviations off at 3 · √(3.5² / 2 + 3.5²) = 12.86 degrees, to a thousandth.
   */
  @ParameterizedTest(name = "{0}°: {1} out of line")
  @CsvSource({"130.84, 0", "130.88, 1", "105.16, 0", "105.12, 1"})
  void theLimitIsThreeDeviations(double third, int found) {
    assertEquals(found, tame(118, 118, third).indices().size());
  }

  /** With its new variance the reading lies at 3 deviations exactly: (40 / 3)² − 3.5² / 2. */
  @Test
  void theVarianceIsRaisedToTheLimit() {
    OutOfLine.Tamed tamed = tame(118, 118, 158);
    assertEquals(Set.of(2), tamed.indices());
    assertEquals(40 * 40 / 9.0 - 12.25 / 2, tamed.readings().get(2).variance(), 0.01);
    assertEquals(12.25, tamed.readings().get(1).variance());
  }

  /** The level moves by LIMIT² · P / distance, and never by more than LIMIT · P / √(P + R). */
  @ParameterizedTest(name = "{0}° off")
  @CsvSource({"13", "20", "40", "100"})
  void hasTheInfluencePromised(double off) {
    double others = 12.25 / 2;
    State state = filter().pass(tame(118, 118, 118 + off).readings()).last();
    double moved = state.level() - 118;
    assertEquals(9 * others / off, moved, 0.01);
    assertTrue(moved <= 3 * others / Math.sqrt(others + 12.25));
  }

  private static OutOfLine.Tamed tame(double... degrees) {
    List<Observed> readings = new ArrayList<>();
    for (double angle : degrees) {
      readings.add(new Observed(0, 0, angle, 12.25));
    }
    return OutOfLine.tame(filter(), readings);
  }

  private static LevelFilter filter() {
    return TrendParameters.USUAL.filter(118);
  }
}
