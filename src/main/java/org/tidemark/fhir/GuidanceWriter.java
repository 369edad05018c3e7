package org.tidemark.fhir;

import java.util.List;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.tidemark.decision.Decision;

/** Writes a decision with its reasons. */
public final class GuidanceWriter {
  private GuidanceWriter() {}

  public static GuidanceResponse write(
      PlanIdentity plan, Decision decision, List<String> resultReferences) {
    throw new UnsupportedOperationException();
  }
}
