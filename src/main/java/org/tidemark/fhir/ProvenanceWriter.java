package org.tidemark.fhir;

import java.util.Date;
import java.util.List;
import org.hl7.fhir.r4.model.Provenance;
import org.tidemark.decision.Decision;

/** Writes what a decision rests on. */
public final class ProvenanceWriter {
  private ProvenanceWriter() {}

  public static Provenance write(
      PlanIdentity plan, Decision decision, List<String> versionedTargets, Date recorded) {
    throw new UnsupportedOperationException();
  }
}
