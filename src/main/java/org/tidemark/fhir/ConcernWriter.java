package org.tidemark.fhir;

import java.util.Date;
import org.hl7.fhir.r4.model.DetectedIssue;
import org.hl7.fhir.r4.model.Task;
import org.tidemark.decision.Decision;

/** Writes what a clinician is to look at. */
public final class ConcernWriter {
  private ConcernWriter() {}

  public static DetectedIssue warning(PlanIdentity plan, Decision decision) {
    throw new UnsupportedOperationException();
  }

  public static Task review(PlanIdentity plan, Decision decision, String focusReference) {
    throw new UnsupportedOperationException();
  }

  public static Task approval(PlanIdentity plan, String proposalReference, Decision decision) {
    throw new UnsupportedOperationException();
  }

  public static Task parked(String subject, String observationReference, String reason, Date when) {
    throw new UnsupportedOperationException();
  }
}
