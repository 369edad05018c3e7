package org.tidemark.trend;

import java.util.Arrays;
import java.util.Comparator;
import java.util.Locale;

/**
 * How a joint angle is measured, with the standard error of measurement (SEM) of one reading. Where
 * a source gives a minimum significant difference between two readings instead, {@code SEM =
 * difference / (1.96 · √2)}.
 */
public enum MeasuringMethod {
  /** The middle of the 3 to 4 degrees that are usual for one rater with one instrument. */
  GONIOMETER(
      3.5,
      "Lenssen 2007, BMC Musculoskelet Disord 8:83 (3.4 sitting); Hancock 2018, J Exp Orthop,"
          + " doi:10.1186/s40634-018-0161-5 (10 between two readings, which is 3.6)"),
  INCLINOMETER(
      errorBehind(6),
      "Hancock 2018, J Exp Orthop, doi:10.1186/s40634-018-0161-5 (6 between two readings)"),
  PHONE(
      errorBehind(12),
      "Hancock 2018, J Exp Orthop, doi:10.1186/s40634-018-0161-5 (12 between two readings)"),
  VISUAL(
      errorBehind(14),
      "Hancock 2018, J Exp Orthop, doi:10.1186/s40634-018-0161-5 (14 between two readings)"),
  /** The middle of the 4 to 5 degrees taken for people who measure themselves. */
  SELF_MEASURED(4.5, "common practice; no study of self-measured knee flexion found"),
  /** A method that is not said or not known has the widest error of those that are. */
  UNKNOWN(errorBehind(14), "the widest error of the known methods");

  private final double standardErrorDegrees;
  private final String source;

  MeasuringMethod(double standardErrorDegrees, String source) {
    this.standardErrorDegrees = standardErrorDegrees;
    this.source = source;
  }

  /** The SEM of one reading in degrees, more than 0. */
  public double standardErrorDegrees() {
    return standardErrorDegrees;
  }

  /** Where the SEM comes from. */
  public String source() {
    return source;
  }

  /** {@code goniometer}, {@code self-measured} and so on. */
  public String code() {
    return name().toLowerCase(Locale.ROOT).replace('_', '-');
  }

  /** The method with this code; {@link #UNKNOWN} when there is none. */
  public static MeasuringMethod of(String code) {
    return Arrays.stream(values())
        .filter(method -> method.code().equals(code))
        .findFirst()
        .orElse(UNKNOWN);
  }

  /** The method with the widest error of those that have one of their own. */
  static MeasuringMethod widest() {
    return Arrays.stream(values())
        .filter(method -> method != UNKNOWN)
        .max(Comparator.comparingDouble(MeasuringMethod::standardErrorDegrees))
        .orElseThrow();
  }

  private static double errorBehind(double minimumSignificantDifferenceDegrees) {
    return minimumSignificantDifferenceDegrees / MinimalDetectableChange.at95(1, 1);
  }
}
