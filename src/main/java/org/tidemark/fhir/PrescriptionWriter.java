package org.tidemark.fhir;

import java.util.Optional;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.tidemark.decision.Decision;
import org.tidemark.programme.Prescription;

/** Writes a prescription as a ServiceRequest. */
public final class PrescriptionWriter {

  /** Whether a prescription is in force or waits for a clinician. */
  public enum Kind {
    ORDER,
    PROPOSAL
  }

  private PrescriptionWriter() {}

  public static ServiceRequest write(
      PlanIdentity plan,
      Prescription prescription,
      Decision why,
      Kind kind,
      ServiceRequest.ServiceRequestStatus status,
      Optional<String> replacesId,
      Optional<String> basedOnProposalId) {
    throw new UnsupportedOperationException();
  }
}
