package org.tidemark.fhir;

import java.util.List;
import org.hl7.fhir.r4.model.CarePlan;
import org.tidemark.decision.Decision;

/** Writes what was decided into a plan. */
public final class CarePlanWriter {
  private CarePlanWriter() {}

  public static CarePlan apply(
      CarePlan current,
      PlanIdentity plan,
      List<String> orderIds,
      List<String> proposalIds,
      List<String> goalIds,
      Decision because,
      Decision last) {
    throw new UnsupportedOperationException();
  }
}
