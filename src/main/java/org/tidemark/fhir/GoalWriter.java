package org.tidemark.fhir;

import java.time.OffsetDateTime;
import java.util.Optional;
import org.hl7.fhir.r4.model.Goal;
import org.tidemark.decision.GoalReading;

/** Writes how far a goal is. */
public final class GoalWriter {
  private GoalWriter() {}

  public static Goal write(
      PlanIdentity plan, GoalReading reading, Optional<Goal> former, OffsetDateTime asOf) {
    throw new UnsupportedOperationException();
  }
}
