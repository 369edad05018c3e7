package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.trend.LevelFilter.State;

class TrendTest {

  /** One reading is known as well as its method reads: ±1.96 · 3.5 degrees. */
  @Test
  void oneReading() {
    Trend trend = Weekly.trend(118);
    assertEquals(118, trend.level().estimate(), 1e-3);
    assertEquals(118 - 6.86, trend.level().low(), 1e-3);
    assertEquals(118 + 6.86, trend.level().high(), 1e-3);
    assertEquals(0, trend.slopePerWeek().estimate(), 1e-6);
    assertEquals(5.88, trend.slopePerWeek().high(), 1e-3);
    assertEquals(Weekly.START, trend.at());
    assertEquals(List.of(), trend.outOfLine());
  }

  /** The level at the newest reading is the trend's; ahead it drifts to where it is heading. */
  @Test
  void theLevelsEndWhereTheTrendStandsAndGoOnFromThere() {
    Trend trend = Weekly.trend(100, 102, 103, 106, 107, 109);
    List<Double> levels = trend.levels();
    assertEquals(6, levels.size());
    assertEquals(trend.level().estimate(), levels.get(5), 1e-3);
    for (int i = 1; i < levels.size(); i++) {
      assertTrue(levels.get(i) > levels.get(i - 1), levels.toString());
    }
    assertEquals(trend.level().estimate(), trend.ahead(0).middle(), 1e-6);
    Trend.Ahead near = trend.ahead(28);
    Trend.Ahead far = trend.ahead(180);
    assertTrue(near.low() < near.middle() && near.middle() < near.high(), near.toString());
    assertTrue(far.high() - far.low() > near.high() - near.low(), near + " " + far);
    assertTrue(near.middle() > trend.level().estimate() && far.middle() > near.middle());
    assertEquals(trend.headingFor().estimate(), trend.ahead(36_500).middle(), 5);
  }

  /**
   * Two readings a year apart: the second is the level, but for the share P / (P + R) that so long
   * a gap leaves to the first. The slope has died away in between and tells nothing.
   */
  @Test
  void aLongGapForgets() {
    Trend trend =
        Trend.of(RangeSeries.of(Weekly.readings(364, MeasuringMethod.GONIOMETER, 118, 138)));
    assertEquals(138, trend.level().estimate(), 1);
    assertTrue(trend.slopePerWeek().holds(0));
  }

  /**
   * One degree a week for twenty weeks. A gain that never slows down is not what is usual, so the
   * slope is taken for less until many readings say otherwise; the intervals hold the truth.
   */
  @Test
  void aSteadyGainIsFollowed() {
    double[] degrees = new double[20];
    Arrays.setAll(degrees, week -> 100 + week);
    Trend trend = Weekly.trend(degrees);
    assertTrue(trend.level().holds(119), trend.level().toString());
    assertTrue(trend.slopePerWeek().holds(1), trend.slopePerWeek().toString());
    assertTrue(trend.slopePerWeek().low() > 0, trend.slopePerWeek().toString());
    assertTrue(
        trend.parameters().halfLifeWeeks() > TrendParameters.USUAL.halfLifeWeeks(),
        trend.parameters().toString());
  }

  /** 105° + 25° · (1 − 2^(−week / 6)): after 16 weeks 126.1°, gaining 0.45° a week, to 130°. */
  @Test
  void aGainThatSlowsDownIsFollowedToItsEnd() {
    double[] degrees = new double[17];
    Arrays.setAll(degrees, week -> 105 + 25 * (1 - Math.pow(2, -week / 6.0)));
    Trend trend = Weekly.trend(degrees);
    assertEquals(126.06, trend.level().estimate(), 0.6);
    assertEquals(0.455, trend.slopePerWeek().estimate(), 0.15);
    assertEquals(130, trend.headingFor().estimate(), 3);
    assertTrue(trend.headingFor().holds(130));
  }

  /** A slope of s carries on by s · halfLife / ln 2, in each candidate. */
  @Test
  void headsForWhereTheSlopeDiesAway() {
    State state = new State(120, 0.5, 1, 0, 1);
    Candidate candidate = new Candidate(TrendParameters.fitted(1, 6).filter(120), state, 1);
    assertEquals(120 + 0.5 * 6 / Math.log(2), candidate.headingFor(), 1e-9);
    double carry = 6 / Math.log(2);
    assertEquals(1 + carry * carry, candidate.headingVariance(), 1e-9);
    State tied = new State(120, 0.5, 1, -0.2, 1);
    assertEquals(
        1 - 0.4 * carry + carry * carry,
        new Candidate(candidate.filter(), tied, 1).headingVariance(),
        1e-9);
  }

  @ParameterizedTest(name = "{0} readings: fitted {1}")
  @CsvSource({"1, false", "4, false", "5, true", "10, true"})
  void parametersAreFittedFromFiveTimesOn(int readings, boolean fitted) {
    double[] degrees = new double[readings];
    Arrays.setAll(degrees, week -> 110 + week % 3);
    TrendParameters parameters = Weekly.trend(degrees).parameters();
    assertEquals(fitted, parameters.fitted());
    if (!fitted) {
      assertEquals(TrendParameters.USUAL, parameters);
    }
  }

  /** Ten readings at four times are four. */
  @Test
  void readingsOfOneTimeCountOnce() {
    List<Reading> readings = new ArrayList<>();
    for (int i = 0; i < 3; i++) {
      readings.addAll(Weekly.readings(MeasuringMethod.PHONE, 110 + i, 112, 113 - i, 115));
    }
    assertFalse(Trend.of(RangeSeries.of(readings)).parameters().fitted());
  }

  @Test
  void aRestlessRangeWandersMore() {
    double[] restless = new double[30];
    double[] calm = new double[30];
    Arrays.setAll(restless, week -> 110 + 12 * Math.sin(week / 2.0));
    Arrays.setAll(calm, week -> 110 + (week % 2) * 3);
    double most = Weekly.trend(restless).parameters().wanderPerRootWeek();
    double least = Weekly.trend(calm).parameters().wanderPerRootWeek();
    assertTrue(most > 2, "restless " + most);
    assertTrue(least < 0.5, "calm " + least);
  }

  /** Another rater's spread widens the interval. */
  @Test
  void severalRatersKnowLess() {
    List<Reading> one = new ArrayList<>();
    List<Reading> two = new ArrayList<>();
    for (Reading reading : Weekly.readings(MeasuringMethod.GONIOMETER, 110, 112, 113, 115)) {
      one.add(by("first", reading));
      two.add(by(two.size() % 2 == 0 ? "first" : "second", reading));
    }
    Interval alone = Trend.of(RangeSeries.of(one)).level();
    Interval both = Trend.of(RangeSeries.of(two)).level();
    assertTrue(both.high() - both.low() > alone.high() - alone.low());
  }

  @Test
  void anAccurateReadingCountsMore() {
    List<Reading> readings =
        List.of(
            Reading.of(Weekly.START, 110, MeasuringMethod.VISUAL),
            Reading.of(Weekly.START, 120, MeasuringMethod.INCLINOMETER));
    double visual = 14 * 14;
    double inclinometer = 6 * 6;
    assertEquals(
        (110 / visual + 120 / inclinometer) / (1 / visual + 1 / inclinometer),
        Trend.of(RangeSeries.of(readings)).level().estimate(),
        1e-3);
  }

  @Test
  void boundsHold() {
    TrendParameters low = TrendParameters.fitted(0, 0);
    TrendParameters high = TrendParameters.fitted(1e9, 1e9);
    assertEquals(TrendParameters.LEAST_WANDER, low.wanderPerRootWeek());
    assertEquals(TrendParameters.SHORTEST_HALF_LIFE, low.halfLifeWeeks());
    assertEquals(TrendParameters.MOST_WANDER, high.wanderPerRootWeek());
    assertEquals(TrendParameters.LONGEST_HALF_LIFE, high.halfLifeWeeks());
    assertEquals(0.5, TrendParameters.fitted(0.5, 9).wanderPerRootWeek());
  }

  /** One standard deviation of each logarithm off: −½ − ½. */
  @Test
  void thePriorIsHighestAtTheUsual() {
    assertEquals(0, TrendParameters.USUAL.logPrior(), 1e-12);
    TrendParameters off =
        TrendParameters.USUAL.times(
            Math.exp(TrendParameters.WANDER_SPREAD), Math.exp(-TrendParameters.HALF_LIFE_SPREAD));
    assertEquals(-1, off.logPrior(), 1e-12);
  }

  @Test
  void candidatesShareTheBelief() {
    var candidates = Weekly.trend(100, 104, 108, 110, 113, 114).candidates();
    assertEquals(9, candidates.size());
    assertEquals(1, candidates.stream().mapToDouble(c -> c.weight()).sum(), 1e-12);
  }

  /** With a single reading the likelihood is silent: the weights are those of the rule. */
  @Test
  void withoutReadingsTheCandidatesHaveTheWeightsOfTheRule() {
    double[] weights =
        Weekly.trend(118).candidates().stream().mapToDouble(c -> c.weight()).toArray();
    assertEquals(4 / 9.0, weights[4], 1e-9);
    assertEquals(1 / 36.0, weights[0], 1e-9);
    assertEquals(1 / 9.0, weights[1], 1e-9);
  }

  @Test
  void anIntervalRunsFromLowToHigh() {
    assertThrows(IllegalArgumentException.class, () -> new Interval(1, 0, 2));
    assertThrows(IllegalArgumentException.class, () -> new Interval(0, 3, 2));
    Interval interval = new Interval(-1, 0, 2);
    assertTrue(interval.holds(-1) && interval.holds(2));
    assertFalse(interval.holds(-1.01) || interval.holds(2.01));
  }

  private static Reading by(String rater, Reading reading) {
    return new Reading(reading.when(), reading.degrees(), reading.method(), Optional.of(rater));
  }
}
