package org.tidemark.http;

import ca.uhn.fhir.rest.annotation.Operation;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import jakarta.enterprise.context.ApplicationScoped;
import java.time.LocalDate;
import java.time.format.DateTimeParseException;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.MeasureReport;
import org.tidemark.application.Outcomes;
import org.tidemark.fhir.Problem;

/** Tells how the plans of the clinic have gone. */
@ApplicationScoped
public class OutcomeOperations implements Operations {
  private static final String START = "periodStart";
  private static final String END = "periodEnd";
  private static final Set<String> TAKEN = Set.of(START, END, "_format", "_pretty");

  private final Outcomes outcomes;

  OutcomeOperations(Outcomes outcomes) {
    this.outcomes = outcomes;
  }

  /** {@code $outcomes}: flare rate, adherence and the time to each goal, in a period. */
  @Operation(name = "$outcomes", idempotent = true)
  public MeasureReport report(RequestDetails request) {
    Map<String, List<String>> given = OperationParameters.given(request);
    given.keySet().stream()
        .filter(name -> !TAKEN.contains(name))
        .findFirst()
        .ifPresent(
            name -> {
              throw Problem.of(
                  Problem.Kind.UNKNOWN_PARAMETER,
                  "The outcomes take periodStart and periodEnd.",
                  name);
            });
    return outcomes.report(day(given, START), day(given, END));
  }

  private static Optional<LocalDate> day(Map<String, List<String>> given, String name) {
    try {
      return given.getOrDefault(name, List.of()).stream().findFirst().map(LocalDate::parse);
    } catch (DateTimeParseException noDay) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "'%s' is a day, such as 2026-03-02.".formatted(name),
          "Parameters.parameter.where(name='%s')".formatted(name));
    }
  }
}
