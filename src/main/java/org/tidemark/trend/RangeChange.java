package org.tidemark.trend;

import java.util.Collection;
import java.util.List;

/**
 * How far the newest readings are from the first, held against the error of measuring. The readings
 * of one day are averaged; readings out of line are left out.
 *
 * @param degrees newest minus first
 * @param shownFromDegrees the smallest difference that is more than error (MDC95), with the methods
 *     and the numbers of readings of the two days
 * @param verdict what the difference shows
 */
public record RangeChange(double degrees, double shownFromDegrees, Verdict verdict) {

  /** What a difference between readings shows. */
  public enum Verdict {
    /** Better by MDC95 or more. */
    IMPROVED,
    /** Worse by MDC95 or more. */
    WORSE,
    /** Less than MDC95: not shown to be a change. */
    NOT_SHOWN
  }

  /** Readings less than a day apart are of one occasion. */
  private static final double ONE_DAY = 1;

  /** The change over a series of readings in line. */
  static RangeChange over(RangeSeries series, List<Reading> inLine) {
    Reading first = inLine.get(0);
    Reading last = inLine.get(inLine.size() - 1);
    List<Reading> before =
        inLine.stream().filter(reading -> reading.daysAfter(first.when()) < ONE_DAY).toList();
    List<Reading> after =
        inLine.stream().filter(reading -> last.daysAfter(reading.when()) < ONE_DAY).toList();
    if (last.daysAfter(first.when()) < ONE_DAY) {
      after = before;
    }
    boolean sameRater =
        RangeSeries.raters(before).size() == 1
            && RangeSeries.raters(before).equals(RangeSeries.raters(after));
    double between = sameRater ? 0 : RangeSeries.RATER_VARIANCE;
    double difference = mean(after) - mean(before);
    double least =
        MinimalDetectableChange.at95(
            Math.sqrt(errorOfMean(before) + between), Math.sqrt(errorOfMean(after) + between));
    double gain = difference * series.better().sign();
    Verdict verdict =
        gain >= least ? Verdict.IMPROVED : gain <= -least ? Verdict.WORSE : Verdict.NOT_SHOWN;
    return new RangeChange(difference, least, verdict);
  }

  private static double mean(Collection<Reading> readings) {
    return readings.stream().mapToDouble(Reading::degrees).average().orElseThrow();
  }

  private static double errorOfMean(Collection<Reading> readings) {
    double sum = readings.stream().mapToDouble(Reading::variance).sum();
    return sum / ((double) readings.size() * readings.size());
  }
}
