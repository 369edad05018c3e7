package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.time.Duration;
import java.util.ArrayList;
import java.util.Collections;
import java.util.List;
import java.util.Random;
import net.jqwik.api.Arbitraries;
import net.jqwik.api.Arbitrary;
import net.jqwik.api.Combinators;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.Provide;
import net.jqwik.api.constraints.DoubleRange;
import net.jqwik.api.constraints.IntRange;
import org.tidemark.trend.Forecast.Arrival;

class TrendPropertiesTest {
  private static final int TRIES = 60;

  /** Readings of a knee that gains, with errors, at any times of half a year. */
  @Provide
  Arbitrary<List<Reading>> series() {
    Arbitrary<MeasuringMethod> method = Arbitraries.of(MeasuringMethod.class);
    Arbitrary<Integer> hour = Arbitraries.integers().between(0, 26 * 7 * 24);
    Arbitrary<Integer> tenths = Arbitraries.integers().between(-80, 80);
    return Combinators.combine(hour, tenths, method)
        .as(
            (hours, error, how) -> {
              double angle = 100 + 20 * (1 - Math.exp(-hours / 1500.0));
              return Reading.of(Weekly.START.plusHours(hours), angle + error / 10.0, how);
            })
        .list()
        .ofMinSize(1)
        .ofMaxSize(14);
  }

  @Property(tries = TRIES)
  void theOrderOfReadingsDoesNotMatter(
      @ForAll("series") List<Reading> readings, @ForAll Random order) {
    List<Reading> together = new ArrayList<>(readings);
    for (int i = 0; i < 3; i++) {
      together.add(Reading.of(Weekly.START.plusDays(3), 101 + i, MeasuringMethod.PHONE));
    }
    List<Reading> shuffled = new ArrayList<>(together);
    Collections.shuffle(shuffled, order);
    Trend one = Trend.of(RangeSeries.of(together));
    Trend other = Trend.of(RangeSeries.of(shuffled));
    assertEquals(one.level(), other.level());
    assertEquals(one.slopePerWeek(), other.slopePerWeek());
    assertEquals(one.change(), other.change());
    assertEquals(Forecast.of(one, 118), Forecast.of(other, 118));
    assertEquals(Plateau.find(one), Plateau.find(other));
  }

  @Property(tries = TRIES)
  void movingAllDatesMovesOnlyDates(
      @ForAll("series") List<Reading> readings,
      @ForAll @IntRange(min = -4000, max = 4000) int days) {
    Trend here = Trend.of(RangeSeries.of(readings));
    Trend there =
        Trend.of(
            RangeSeries.of(
                readings.stream()
                    .map(r -> Reading.of(r.when().plusDays(days), r.degrees(), r.method()))
                    .toList()));
    assertEquals(here.level(), there.level());
    assertEquals(here.slopePerWeek(), there.slopePerWeek());
    assertEquals(Forecast.of(here, 118), Forecast.of(there, 118));
    assertEquals(
        Plateau.find(here).map(plateau -> plateau.since().plusDays(days)),
        Plateau.find(there).map(Plateau::since));
    assertEquals(Duration.ofDays(days), Duration.between(here.at(), there.at()));
  }

  @Property(tries = TRIES)
  void addingDegreesAddsToTheLevelAlone(
      @ForAll("series") List<Reading> readings,
      @ForAll @DoubleRange(min = -40, max = 40) double degrees) {
    Trend here = Trend.of(RangeSeries.of(readings));
    Trend there =
        Trend.of(
            RangeSeries.of(
                readings.stream()
                    .map(r -> Reading.of(r.when(), r.degrees() + degrees, r.method()))
                    .toList()));
    assertEquals(here.level().estimate() + degrees, there.level().estimate(), 1e-4);
    assertEquals(here.level().low() + degrees, there.level().low(), 1e-4);
    assertEquals(here.slopePerWeek().estimate(), there.slopePerWeek().estimate(), 1e-4);
    assertEquals(here.slopePerWeek().high(), there.slopePerWeek().high(), 1e-4);
    assertEquals(here.change().verdict(), there.change().verdict());
    assertEquals(here.headingFor().estimate() + degrees, there.headingFor().estimate(), 1e-3);
  }

  /** Under the usual parameters, which four times of reading do not move. */
  @Property(tries = TRIES)
  void aMoreAccurateMethodNarrowsTheIntervals(
      @ForAll @DoubleRange(min = -3, max = 3) double slope,
      @ForAll @IntRange(min = 1, max = 30) int days) {
    double[] degrees = {110, 110 + slope, 110 + 2 * slope, 110 + 3 * slope};
    Trend rough = regular(days, MeasuringMethod.VISUAL, degrees);
    Trend fine = regular(days, MeasuringMethod.INCLINOMETER, degrees);
    assertTrue(width(fine.level()) < width(rough.level()));
    assertTrue(width(fine.slopePerWeek()) < width(rough.slopePerWeek()));
  }

  /**
   * Whatever one reading in ten says, the level moves by less than 5.5 degrees. The most, 5.43, is
   * when the newest reads 132.5.
   */
  @Property(tries = TRIES)
  void oneReadingInTenMovesTheLevelByLittle(
      @ForAll @IntRange(min = 0, max = 9) int at,
      @ForAll @DoubleRange(min = 0, max = 165) double absurd) {
    double[] honest = {110, 113, 112, 116, 115, 118, 117, 119, 118, 121};
    double[] spoilt = honest.clone();
    spoilt[at] = absurd;
    List<Reading> others = new ArrayList<>(Weekly.readings(MeasuringMethod.GONIOMETER, honest));
    others.remove(at);
    assertEquals(
        Trend.of(RangeSeries.of(others)).level().estimate(),
        Weekly.trend(spoilt).level().estimate(),
        5.5);
  }

  @Property(tries = TRIES)
  void aForecastIsInOrder(
      @ForAll("series") List<Reading> readings,
      @ForAll @DoubleRange(min = 0.1, max = 10) double missing) {
    Trend trend = Trend.of(RangeSeries.of(readings));
    double goal = trend.level().estimate() + missing;
    Passage passage = Passage.simulate(trend, goal);
    double before = 0;
    for (int days = 0; days <= 1200; days += 30) {
      double chance = passage.chanceWithin(days);
      assertTrue(before <= chance && chance <= 1);
      before = chance;
    }
    if (Forecast.of(trend, goal) instanceof Arrival arrival) {
      assertTrue(0 <= arrival.earliestDays());
      assertTrue(arrival.earliestDays() <= arrival.medianDays());
      assertTrue(arrival.medianDays() <= arrival.latestDays().orElse(Double.POSITIVE_INFINITY));
      assertTrue(arrival.chanceIn3Months() <= arrival.chanceIn6Months());
      assertTrue(arrival.chanceIn6Months() <= arrival.chanceIn12Months());
    }
  }

  /** A nearer goal is not reached later. */
  @Property(tries = TRIES)
  void aNearerGoalIsAsLikely(
      @ForAll("series") List<Reading> readings,
      @ForAll @DoubleRange(min = 0.1, max = 10) double missing) {
    Trend trend = Trend.of(RangeSeries.of(readings));
    double level = trend.level().estimate();
    double near = Passage.simulate(trend.candidates(), level + missing, 1, 11).chanceWithin(180);
    double far = Passage.simulate(trend.candidates(), level + missing + 3, 1, 11).chanceWithin(180);
    double noise = 4 * Math.sqrt(0.5 / Passage.PATHS);
    assertTrue(near >= far - noise, near + " " + far);
  }

  private static Trend regular(int days, MeasuringMethod method, double... degrees) {
    return Trend.of(RangeSeries.of(Weekly.readings(days, method, degrees)));
  }

  private static double width(Interval interval) {
    return interval.high() - interval.low();
  }
}
