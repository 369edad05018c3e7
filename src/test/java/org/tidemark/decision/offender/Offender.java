package org.tidemark.decision.offender;

import org.hl7.fhir.r4.model.Patient;

/** A decision knows no FHIR. This one does, so that the rule against it is seen to bite. */
final class Offender {
  private final Patient forbidden;

  Offender(Patient forbidden) {
    this.forbidden = forbidden;
  }

  @Override
  public String toString() {
    return String.valueOf(forbidden);
  }
}
