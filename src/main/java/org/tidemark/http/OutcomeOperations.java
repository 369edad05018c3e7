package org.tidemark.http;

import ca.uhn.fhir.model.api.TemporalPrecisionEnum;
import ca.uhn.fhir.rest.annotation.Operation;
import ca.uhn.fhir.rest.annotation.OperationParam;
import jakarta.enterprise.context.ApplicationScoped;
import java.time.LocalDate;
import java.util.Optional;
import org.hl7.fhir.r4.model.DateType;
import org.hl7.fhir.r4.model.MeasureReport;
import org.tidemark.application.Outcomes;
import org.tidemark.fhir.Problem;

/** Tells how the plans of the clinic have gone. */
@ApplicationScoped
public class OutcomeOperations implements Operations {
  private final Outcomes outcomes;

  OutcomeOperations(Outcomes outcomes) {
    this.outcomes = outcomes;
  }

  /** {@code $outcomes}: flare rate, adherence and the time to each goal, in a period. */
  @Operation(name = "$outcomes", idempotent = true)
  public MeasureReport report(
      @OperationParam(name = "periodStart") DateType start,
      @OperationParam(name = "periodEnd") DateType end) {
    return outcomes.report(day(start, "periodStart"), day(end, "periodEnd"));
  }

  private static Optional<LocalDate> day(DateType given, String name) {
    if (given == null || !given.hasValue()) {
      return Optional.empty();
    }
    if (given.getPrecision() != TemporalPrecisionEnum.DAY) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "'%s' is a day, such as 2026-03-02.".formatted(name),
          "Parameters.parameter.where(name='%s')".formatted(name));
    }
    return Optional.of(LocalDate.parse(given.getValueAsString()));
  }
}
