package org.tidemark.trend;

import java.time.OffsetDateTime;
import java.util.Comparator;
import java.util.Optional;

/**
 * One measured joint angle.
 *
 * @param when when it was measured
 * @param degrees the angle in degrees, -180 to 180, both included
 * @param method how it was measured
 * @param rater who measured it, by any name or number that tells raters apart; empty when not said
 */
public record Reading(
    OffsetDateTime when, double degrees, MeasuringMethod method, Optional<String> rater) {
  /** No joint angle is larger, in either direction. */
  private static final double LARGEST_DEGREES = 180;

  private static final double SECONDS_PER_DAY = 86_400;
  private static final double NANOS_PER_DAY = SECONDS_PER_DAY * 1e9;

  /** Earliest first; of equal times in an order that does not depend on how they came in. */
  static final Comparator<Reading> IN_ORDER =
      Comparator.comparing((Reading reading) -> reading.when().toInstant())
          .thenComparingDouble(Reading::degrees)
          .thenComparing(Reading::method)
          .thenComparing(reading -> reading.rater().orElse(""));

  public Reading {
    if (!(Math.abs(degrees) <= LARGEST_DEGREES)) {
      throw new IllegalArgumentException(
          "a joint angle is within 180 degrees of straight, was " + degrees);
    }
  }

  /** A reading by someone who is not named. */
  public static Reading of(OffsetDateTime when, double degrees, MeasuringMethod method) {
    return new Reading(when, degrees, method, Optional.empty());
  }

  /** Days from one time to this one, with their fraction; negative when this is earlier. */
  double daysAfter(OffsetDateTime earlier) {
    return (when.toEpochSecond() - earlier.toEpochSecond()) / SECONDS_PER_DAY
        + (when.getNano() - earlier.getNano()) / NANOS_PER_DAY;
  }

  /** SEM of this reading, with one rater, as a variance in degrees². */
  double variance() {
    return method.standardErrorDegrees() * method.standardErrorDegrees();
  }
}
