package org.tidemark.decision.offender;

import java.time.LocalDate;
import java.time.OffsetDateTime;
import java.util.Random;
import java.util.UUID;
import java.util.function.Supplier;

/** Depends on when and how often it is asked, so that the rule against it is seen to bite. */
final class ClockReader {
  final Supplier<LocalDate> today = LocalDate::now;

  OffsetDateTime moment() {
    return OffsetDateTime.now();
  }

  long milliseconds() {
    return System.currentTimeMillis();
  }

  long nanoseconds() {
    return System.nanoTime();
  }

  UUID id() {
    return UUID.randomUUID();
  }

  int unseeded() {
    return new Random().nextInt();
  }

  double chance() {
    return Math.random();
  }
}
