package org.tidemark.trend;

import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.List;
import org.tidemark.trend.RangeSeries.Better;

/** Readings at regular times, the first on a Monday noon. */
final class Weekly {
  static final OffsetDateTime START = OffsetDateTime.parse("2026-01-05T12:00Z");

  private Weekly() {}

  static List<Reading> readings(MeasuringMethod method, double... degrees) {
    return readings(7, method, degrees);
  }

  static List<Reading> readings(int days, MeasuringMethod method, double... degrees) {
    List<Reading> readings = new ArrayList<>();
    for (double angle : degrees) {
      readings.add(Reading.of(START.plusDays((long) days * readings.size()), angle, method));
    }
    return readings;
  }

  /** Weekly readings with a goniometer, higher being better. */
  static Trend trend(double... degrees) {
    return Trend.of(RangeSeries.of(readings(MeasuringMethod.GONIOMETER, degrees)));
  }

  /** Weekly readings with a goniometer of something that should go down. */
  static Trend trendDown(double... degrees) {
    return Trend.of(new RangeSeries(readings(MeasuringMethod.GONIOMETER, degrees), Better.LOWER));
  }
}
