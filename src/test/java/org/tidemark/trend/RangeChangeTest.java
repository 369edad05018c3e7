package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.time.OffsetDateTime;
import java.util.Arrays;
import java.util.List;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.trend.RangeChange.Verdict;
import org.tidemark.trend.RangeSeries.Better;

/**
 * What counts as a change: at least MDC95 = 1.96 · √(SEM1² + SEM2²) between the means of the first
 * and the newest day (Weir 2005, J Strength Cond Res 19:231-40); the mean of n readings has SEM /
 * √n. With SEM 3.5 for both: 9.7015 degrees.
 */
class RangeChangeTest {

  @ParameterizedTest(name = "from {0}° to {1}°: {2}")
  @CsvSource({
    "118, 127.70, NOT_SHOWN",
    "118, 127.71, IMPROVED",
    "118, 108.30, NOT_SHOWN",
    "118, 108.29, WORSE",
    "118, 118, NOT_SHOWN"
  })
  void atLeastMoreThanError(double first, double last, Verdict verdict) {
    RangeChange change = Weekly.trend(first, last).change();
    assertEquals(last - first, change.degrees(), 1e-9);
    assertEquals(9.7015, change.shownFromDegrees(), 5e-5);
    assertEquals(verdict, change.verdict());
  }

  @ParameterizedTest(name = "lack of extension from {0}° to {1}°: {2}")
  @CsvSource({"20, 10.29, IMPROVED", "20, 10.30, NOT_SHOWN", "10, 19.71, WORSE"})
  void fewerDegreesCanBeBetter(double first, double last, Verdict verdict) {
    assertEquals(verdict, Weekly.trendDown(first, last).change().verdict());
  }

  /** 1.96 · √(3.5² + 5.0508²) = 12.0441. */
  @Test
  void twoMethods() {
    RangeChange change =
        over(reading(0, 118, MeasuringMethod.GONIOMETER), reading(7, 130, MeasuringMethod.VISUAL));
    assertEquals(12.0441, change.shownFromDegrees(), 5e-5);
    assertEquals(Verdict.NOT_SHOWN, change.verdict());
  }

  /** Two at first and one at last: 1.96 · √(3.5² / 2 + 3.5²) = 8.4017. */
  @Test
  void readingsOfOneDayAreAveraged() {
    RangeChange change =
        over(
            reading(0, 116, MeasuringMethod.GONIOMETER),
            reading(0.9, 120, MeasuringMethod.GONIOMETER),
            reading(14, 127, MeasuringMethod.GONIOMETER));
    assertEquals(9, change.degrees(), 1e-9);
    assertEquals(8.4017, change.shownFromDegrees(), 5e-5);
    assertEquals(Verdict.IMPROVED, change.verdict());
  }

  /** A day later is another day: the first stands alone, and the last two are averaged. */
  @Test
  void aDayLaterIsAnotherDay() {
    RangeChange change =
        over(
            reading(0, 116, MeasuringMethod.GONIOMETER),
            reading(1, 120, MeasuringMethod.GONIOMETER),
            reading(1.5, 122, MeasuringMethod.GONIOMETER));
    assertEquals(5, change.degrees(), 1e-9);
  }

  @Test
  void onTheFirstDayNothingHasChanged() {
    RangeChange change =
        over(
            reading(0, 110, MeasuringMethod.GONIOMETER),
            reading(0.5, 130, MeasuringMethod.GONIOMETER));
    assertEquals(0, change.degrees(), 1e-9);
    assertEquals(Verdict.NOT_SHOWN, change.verdict());
  }

  /** Another rater adds 2.7² / 2 on both sides: 1.96 · √(2 · (3.5² + 3.645)) = 11.0510. */
  @Test
  void anotherRaterNeedsMore() {
    assertEquals(9.7015, over(by("first", 0), by("first", 7)).shownFromDegrees(), 5e-5);
    assertEquals(11.0510, over(by("first", 0), by("second", 7)).shownFromDegrees(), 5e-5);
  }

  /** Two raters on each day are not the one same rater: the spread counts. */
  @Test
  void theSameTwoRatersAreNotOne() {
    RangeChange change = over(by("first", 0), by("second", 0), by("first", 7), by("second", 7));
    assertEquals(1.96 * Math.sqrt(2 * (12.25 / 2 + 3.645)), change.shownFromDegrees(), 1e-9);
  }

  @Test
  void anAbsurdReadingAtTheEndIsNotAChange() {
    Trend trend = Weekly.trend(118, 119, 117, 120, 118, 20);
    assertEquals(Verdict.NOT_SHOWN, trend.change().verdict());
    assertEquals(0, trend.change().degrees(), 1e-9);
  }

  private static Reading by(String rater, int day) {
    return new Reading(
        Weekly.START.plusDays(day), 118, MeasuringMethod.GONIOMETER, Optional.of(rater));
  }

  private static Reading reading(double day, double degrees, MeasuringMethod method) {
    OffsetDateTime when = Weekly.START.plusSeconds(Math.round(day * 86_400));
    return Reading.of(when, degrees, method);
  }

  private static RangeChange over(Reading... readings) {
    List<Reading> all = Arrays.asList(readings);
    return Trend.of(new RangeSeries(all, Better.HIGHER)).change();
  }
}
