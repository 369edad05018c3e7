package org.tidemark.trend;

import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;

/**
 * The readings of one movement of one joint of one person, earliest first. The order in which equal
 * times are given does not matter.
 *
 * @param readings one or more
 * @param better which way is an improvement
 */
public record RangeSeries(List<Reading> readings, Better better) {

  /** Which way an angle has to move to be an improvement. */
  public enum Better {
    /** More degrees are better, as for knee flexion. */
    HIGHER(1),
    /** Fewer degrees are better, as for a lack of extension. */
    LOWER(-1);

    private final int sign;

    Better(int sign) {
      this.sign = sign;
    }

    /** 1 or -1, to turn an angle so that more is better. */
    int sign() {
      return sign;
    }
  }

  /**
   * Variance in degrees² that another rater adds: two observers of the same knees differed by 2.7
   * degrees in the mean (Lenssen 2007, BMC Musculoskelet Disord 8:83, passive flexion sitting), and
   * the difference of two raters has twice the variance of one.
   */
  static final double RATER_VARIANCE = 2.7 * 2.7 / 2;

  public RangeSeries {
    if (readings.isEmpty()) {
      throw new IllegalArgumentException("a series has at least one reading");
    }
    readings = readings.stream().sorted(Reading.IN_ORDER).toList();
  }

  /** A series of which more degrees are better. */
  public static RangeSeries of(List<Reading> readings) {
    return new RangeSeries(readings, Better.HIGHER);
  }

  Reading first() {
    return readings.get(0);
  }

  Reading last() {
    return readings.get(readings.size() - 1);
  }

  /** Days since the first reading. */
  double day(Reading reading) {
    return reading.daysAfter(first().when());
  }

  /**
   * Whether more than one rater measured. Readings of someone not named count as by one rater, who
   * is none of the named.
   */
  boolean hasSeveralRaters() {
    return raters(readings).size() > 1;
  }

  /**
   * Variance of a reading's error as the trend sees it, in degrees²: its method's, and the spread
   * between raters when the series has several.
   */
  double variance(Reading reading) {
    return reading.variance() + raterVariance();
  }

  /** What the spread between raters adds to the variance of each reading; 0 with one rater. */
  double raterVariance() {
    return hasSeveralRaters() ? RATER_VARIANCE : 0;
  }

  static Set<Optional<String>> raters(List<Reading> readings) {
    return readings.stream().map(Reading::rater).collect(Collectors.toSet());
  }
}
