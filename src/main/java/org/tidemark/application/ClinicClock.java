package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.inject.Produces;
import jakarta.inject.Singleton;
import java.time.Clock;
import java.time.Duration;
import java.time.OffsetDateTime;
import java.time.ZoneId;
import java.util.Date;
import org.tidemark.clinic.Clinics;
import org.tidemark.decision.PlanState;
import org.tidemark.fhir.Problem;

/** The clock of the clinic, and what counts as the time of an act that does not say when it was. */
@ApplicationScoped
class ClinicClock {
  /** What a client dates further ahead than this is refused. */
  private static final Duration MOST_AHEAD = Duration.ofHours(24);

  private final Clock clock;
  private final Clinics clinics;

  ClinicClock(Clock clock, Clinics clinics) {
    this.clock = clock;
    this.clinics = clinics;
  }

  @Produces
  @Singleton
  static Clock system() {
    return Clock.systemUTC();
  }

  ZoneId zone() {
    return clinics.acting().zone();
  }

  OffsetDateTime now() {
    return OffsetDateTime.now(clock.withZone(zone()));
  }

  /**
   * The time of an act of a clinician that does not say when it was: just after the newest fact of
   * the plan, as decisions are taken as of the newest fact and not of the clock.
   */
  OffsetDateTime justAfter(PlanState state) {
    return state.horizon().map(horizon -> horizon.at().plusNanos(1_000_000)).orElseGet(this::now);
  }

  /** A time that a client gave, in the clinic's zone. */
  OffsetDateTime at(Date date, String path) {
    OffsetDateTime given = date.toInstant().atZone(zone()).toOffsetDateTime();
    if (given.isAfter(now().plus(MOST_AHEAD))) {
      throw Problem.of(Problem.Kind.FUTURE_DATE, "The time lies more than 24 hours ahead.", path);
    }
    return given;
  }
}
