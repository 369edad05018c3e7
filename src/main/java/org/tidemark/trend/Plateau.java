package org.tidemark.trend;

import java.time.OffsetDateTime;
import java.util.List;
import java.util.Optional;

/**
 * A range that has stood still: the whole 95 % interval of its slope, as all readings now show it,
 * lies within plus or minus the smallest worthwhile rate at each reading of six weeks or more, up
 * to the newest. That the readings merely fail to show a change is no plateau.
 *
 * @param since the first reading from which on it stood still
 * @param worthwhilePerWeek the smallest worthwhile rate, in degrees a week
 */
public record Plateau(OffsetDateTime since, double worthwhilePerWeek) {
  /** Shortest time that a plateau lasts, included. */
  public static final int LEAST_WEEKS = 6;

  /** Readings in it, at least: its two ends alone do not show what is between. */
  public static final int LEAST_READINGS = 3;

  /**
   * A rate is worthwhile when in this many weeks it makes a change that is more than error (MDC95
   * of two single readings). Twelve weeks is when most of a gain is made (see {@link
   * TrendParameters}); the choice is an assumption.
   */
  public static final int WORTHWHILE_WEEKS = 12;

  /** The plateau on which a trend is now, if it is. */
  public static Optional<Plateau> find(Trend trend) {
    double worthwhile = worthwhilePerWeek(trend.series());
    List<Reading> readings = trend.series().readings();
    List<Mixture> slopes = trend.slopes();
    int since = readings.size();
    while (since > 0 && slopes.get(since - 1).isWithin(worthwhile)) {
      since--;
    }
    if (readings.size() - since < LEAST_READINGS) {
      return Optional.empty();
    }
    OffsetDateTime from = readings.get(since).when();
    return trend.series().last().daysAfter(from) >= LEAST_WEEKS * Trend.DAYS_PER_WEEK
        ? Optional.of(new Plateau(from, worthwhile))
        : Optional.empty();
  }

  /** The smallest worthwhile rate of a series, by the mean error of its readings. */
  static double worthwhilePerWeek(RangeSeries series) {
    double byRaters = series.raterVariance();
    double variance =
        series.readings().stream()
            .mapToDouble(reading -> reading.variance() + byRaters)
            .average()
            .orElseThrow();
    double error = Math.sqrt(variance);
    return MinimalDetectableChange.at95(error, error) / WORTHWHILE_WEEKS;
  }
}
