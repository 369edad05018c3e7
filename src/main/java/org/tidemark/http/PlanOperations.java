package org.tidemark.http;

import ca.uhn.fhir.rest.annotation.IdParam;
import ca.uhn.fhir.rest.annotation.Operation;
import ca.uhn.fhir.rest.annotation.OperationParam;
import jakarta.enterprise.context.ApplicationScoped;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.StringType;
import org.tidemark.application.Previews;

/** The operations on programmes and plans that show what would be decided. */
@ApplicationScoped
public class PlanOperations implements Operations {
  private final Previews previews;

  PlanOperations(Previews previews) {
    this.previews = previews;
  }

  /** {@code PlanDefinition/[id]/$apply}: where a person would start, as an unsaved proposal. */
  @Operation(name = "$apply", type = PlanDefinition.class, idempotent = true)
  public CarePlan apply(
      @IdParam IdType id,
      @OperationParam(name = "subject", min = 1) StringType subject,
      @OperationParam(name = "side") CodeType side) {
    return previews.apply(
        id.getIdPart(),
        subject == null ? null : subject.getValue(),
        side == null ? null : side.getValue());
  }

  /**
   * {@code CarePlan/[id]/$next-prescription}: what would be decided now and why, stored nowhere.
   */
  @Operation(name = "$next-prescription", type = CarePlan.class, idempotent = true)
  public Parameters nextPrescription(@IdParam IdType id) {
    return previews.nextPrescription(id.getIdPart());
  }
}
