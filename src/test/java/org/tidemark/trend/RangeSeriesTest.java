package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.time.OffsetDateTime;
import java.util.List;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

class RangeSeriesTest {
  private static final MeasuringMethod GONIOMETER = MeasuringMethod.GONIOMETER;

  @Test
  void isInOrderOfTimeWhateverTheZone() {
    Reading noon = Reading.of(OffsetDateTime.parse("2026-01-05T12:00Z"), 118, GONIOMETER);
    Reading earlier = Reading.of(OffsetDateTime.parse("2026-01-05T13:00+02:00"), 119, GONIOMETER);
    RangeSeries series = RangeSeries.of(List.of(noon, earlier));
    assertEquals(List.of(earlier, noon), series.readings());
    assertEquals(1 / 24.0, series.day(noon), 1e-12);
  }

  @Test
  void daysHaveFractions() {
    OffsetDateTime early = OffsetDateTime.parse("2026-01-05T12:00:00.750Z");
    Reading later = Reading.of(OffsetDateTime.parse("2026-01-07T00:00:00.250Z"), 118, GONIOMETER);
    assertEquals(1.5 - 0.5 / 86_400, later.daysAfter(early), 1e-12);
  }

  @Test
  void hasReadings() {
    assertThrows(IllegalArgumentException.class, () -> RangeSeries.of(List.of()));
  }

  @ParameterizedTest
  @ValueSource(doubles = {-180.01, 180.01, Double.NaN, Double.POSITIVE_INFINITY})
  void noAngleIsBeyondHalfATurn(double degrees) {
    assertThrows(
        IllegalArgumentException.class, () -> Reading.of(Weekly.START, degrees, GONIOMETER));
  }

  @ParameterizedTest
  @ValueSource(doubles = {-180, 0, 180})
  void anglesUpToHalfATurnAreTaken(double degrees) {
    assertEquals(degrees, Reading.of(Weekly.START, degrees, GONIOMETER).degrees());
  }

  /** Lenssen 2007: two raters differ by 2.7 degrees, so one has a variance of 2.7² / 2 = 3.645. */
  @Test
  void severalRatersAddTheirSpread() {
    RangeSeries one = RangeSeries.of(List.of(by("first"), by("first")));
    RangeSeries two = RangeSeries.of(List.of(by("first"), by("second")));
    assertFalse(one.hasSeveralRaters());
    assertTrue(two.hasSeveralRaters());
    assertEquals(12.25, one.variance(one.first()), 1e-12);
    assertEquals(12.25 + 3.645, two.variance(two.first()), 1e-12);
  }

  /** Nobody named is one rater, and not one of the named. */
  @Test
  void ratersNotNamed() {
    Reading nobody = Reading.of(Weekly.START, 118, GONIOMETER);
    assertFalse(RangeSeries.of(List.of(nobody, nobody)).hasSeveralRaters());
    assertTrue(RangeSeries.of(List.of(nobody, by("first"))).hasSeveralRaters());
  }

  private static Reading by(String rater) {
    return new Reading(Weekly.START, 118, GONIOMETER, Optional.of(rater));
  }
}
