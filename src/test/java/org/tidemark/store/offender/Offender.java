package org.tidemark.store.offender;

import org.hl7.fhir.r4.model.Patient;

/** The store keeps text. This one does, so that the rule against it is seen to bite. */
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
