package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Arrays;
import java.util.OptionalDouble;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.trend.Forecast.Arrival;
import org.tidemark.trend.Forecast.CannotBeForecast;
import org.tidemark.trend.Forecast.Reason;

class ForecastTest {
  private static final double[] GAINING = {100, 103, 105, 108, 109, 112, 113, 115};

  @ParameterizedTest(name = "{0} to {1}°: {2}")
  @CsvSource({
    "118, 118, ALREADY_REACHED",
    "118, 110, ALREADY_REACHED",
    "118, 118.1, TOO_FEW_READINGS",
    "118 124, 130, TOO_FEW_READINGS",
    "100 20 112, 130, TOO_FEW_READINGS",
    "118 119 118 119, 125, NO_CLEAR_DIRECTION",
    "118 119 118 119 117 118 119 118, 125, NO_CLEAR_DIRECTION",
    "100 103 105 108 109 112 113 115, 150, STOPS_SHORT",
    "130 127 125 122 120 117 115 112, 135, STOPS_SHORT"
  })
  void saysWhyItCannot(String readings, double goal, Reason reason) {
    double[] degrees =
        Arrays.stream(readings.split(" ")).mapToDouble(Double::parseDouble).toArray();
    assertEquals(new CannotBeForecast(reason), Forecast.of(Weekly.trend(degrees), goal));
  }

  @Test
  void threeReadingsAreEnough() {
    Arrival arrival = arrival(Weekly.trend(100, 108, 116), 120);
    assertTrue(arrival.medianDays() < 60);
  }

  /** The goal lies just short of, or just beyond, where the trend is heading. */
  @Test
  void aGoalBeyondTheEndIsNotForecast() {
    Trend trend = Weekly.trend(GAINING);
    Forecast just = Forecast.of(trend, trend.headingFor().estimate() - 1);
    assertTrue(just instanceof Arrival, just.toString());
    assertEquals(
        new CannotBeForecast(Reason.STOPS_SHORT),
        Forecast.of(trend, trend.headingFor().estimate() + 0.01));
  }

  /** 15 degrees in 7 weeks: another 4 take a few weeks more, most likely. */
  @Test
  void aSteadyGainArrives() {
    Arrival arrival = arrival(Weekly.trend(GAINING), 119);
    assertEquals(28, arrival.medianDays(), 14);
    assertTrue(arrival.earliestDays() < arrival.medianDays());
    assertTrue(arrival.latestDays().orElse(Double.POSITIVE_INFINITY) > arrival.medianDays());
    assertTrue(arrival.chanceIn3Months() > 0.7);
  }

  @Test
  void fewerDegreesCanBeTheGoal() {
    double[] lack = Arrays.stream(GAINING).map(degrees -> 120 - degrees).toArray();
    Forecast forecast = Forecast.of(Weekly.trendDown(lack), 1);
    double median = forecast.match(Arrival::medianDays, cannot -> Double.NaN);
    assertEquals(arrival(Weekly.trend(GAINING), 119).medianDays(), median, 6);
    assertEquals(
        new CannotBeForecast(Reason.ALREADY_REACHED), Forecast.of(Weekly.trendDown(lack), 8));
  }

  /** The chances are those of 91, 183 and 365 days, and agree with the quantiles. */
  @Test
  void chancesAgreeWithQuantiles() {
    Trend trend = Weekly.trend(GAINING);
    Arrival arrival = arrival(trend, 121);
    Passage passage = Passage.simulate(trend, 121);
    assertEquals(passage.chanceWithin(91.3125), arrival.chanceIn3Months());
    assertEquals(passage.chanceWithin(182.625), arrival.chanceIn6Months());
    assertEquals(passage.chanceWithin(365.25), arrival.chanceIn12Months());
    assertEquals(0.1, passage.chanceWithin(arrival.earliestDays()), 0.002);
    assertEquals(0.5, passage.chanceWithin(arrival.medianDays()), 0.002);
  }

  /** The seed comes from the data: pinned, so that another machine or library would be seen. */
  @Test
  void theSameDataGiveTheSameAnswer() {
    Arrival first = arrival(Weekly.trend(GAINING), 121);
    assertEquals(first, arrival(Weekly.trend(GAINING), 121));
    assertEquals(
        new Arrival(
            12.691313033517257,
            38.925730897450364,
            OptionalDouble.of(1055.6895435700437),
            0.769,
            0.843,
            0.869),
        first);
  }

  @Test
  void eachReasonHasItsSentence() {
    assertEquals(
        Reason.values().length,
        Arrays.stream(Reason.values()).map(Reason::sentence).distinct().count());
  }

  private static Arrival arrival(Trend trend, double goal) {
    return Forecast.of(trend, goal)
        .match(
            arrival -> arrival,
            cannot -> {
              throw new AssertionError(cannot.reason());
            });
  }
}
