package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertNotEquals;

import java.time.Instant;
import java.time.LocalDate;
import java.util.Date;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalDouble;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest.ServiceRequestStatus;
import org.hl7.fhir.r4.model.Task;
import org.junit.jupiter.api.DynamicTest;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.TestFactory;
import org.tidemark.decision.Change;
import org.tidemark.decision.Decision;
import org.tidemark.decision.GoalReading;
import org.tidemark.decision.Reason;
import org.tidemark.demand.Ratio;
import org.tidemark.fhir.PrescriptionWriter.Kind;
import org.tidemark.programme.Direction;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.response.Response;
import org.tidemark.trend.OutcomeFigures;
import org.tidemark.trend.OutcomeFigures.TimeToGoal;

/**
 * Everything that is written is valid R4, fits our profiles and holds only codes and extensions
 * that are published.
 */
class WrittenResourcesValidTest {
  private static final Map<String, String[]> PROFILES =
      Map.of(
          "ServiceRequest", new String[] {Codes.structure("graded-prescription")},
          "CarePlan", new String[] {Codes.structure("graded-care-plan")},
          "Goal", new String[] {Codes.structure("graded-goal")},
          "RiskAssessment", new String[] {Codes.structure("range-forecast")});

  @TestFactory
  Stream<DynamicTest> isValid() {
    return Stream.of(Sample.PLAN, Sample.GERMAN)
        .flatMap(
            plan ->
                written(plan)
                    .map(
                        resource ->
                            DynamicTest.dynamicTest(
                                resource.fhirType() + ", " + plan.language(),
                                () -> assertEquals(List.of(), errors(resource)))));
  }

  private static Resource decided(PlanIdentity plan) {
    GuidanceResponse guidance = GuidanceWriter.write(plan, weighed());
    GuidanceWriter.decided(
        guidance,
        plan,
        3,
        List.of(
            new SessionJudged(
                "Observation/a",
                Optional.of(new SessionJudged.Went(Sample.AS_OF, Response.SETTLED, true))),
            SessionJudged.withdrawn("Observation/b")));
    return guidance;
  }

  private static Stream<Resource> written(PlanIdentity plan) {
    return Stream.of(
        order(plan),
        plan(plan),
        goal(plan),
        ForecastWriter.write(
            plan, Sample.course(135, 110, 113, 115, 119, 121, 124), Optional.empty()),
        ForecastWriter.write(plan, Sample.course(135, 110), Optional.empty()),
        GuidanceWriter.write(
            plan,
            weighed().with(List.of(Sample.course(135, 110, 113, 115, 119, 121, 124).figures()))),
        GuidanceWriter.write(
            plan, weighed().with(List.of(Sample.course(135, new double[30]).figures()))),
        GuidanceWriter.write(plan, weighed()),
        GuidanceWriter.write(plan, Sample.incomplete()),
        decided(plan),
        OutcomeReportWriter.write(
            new OutcomeFigures(
                40, 3, 51.3, 44, List.of(new TimeToGoal("full-bend", 4, 2, OptionalDouble.of(61)))),
            new OutcomeFigures.Period(LocalDate.of(2026, 1, 1), LocalDate.of(2026, 6, 30)),
            false,
            "Organization/clinic",
            now()),
        ProvenanceWriter.write(
            plan,
            Sample.progress(),
            List.of("CarePlan/plan-1/_history/2"),
            List.of(),
            Optional.of("Practitioner/ada"),
            now()),
        ConcernWriter.warning(plan, Sample.warned()),
        ConcernWriter.review(plan, Sample.warned(), "CarePlan/plan-1"),
        ConcernWriter.approval(plan, "ServiceRequest/c", Sample.progress()),
        ConcernWriter.parked(
            plan.texts(), "Patient/x", "Observation/9", "It names no side.", now()));
  }

  @Test
  void theValidatorBites() {
    Task task =
        ConcernWriter.parked(
            Sample.TEXTS, "Patient/x", "Observation/9", "It names no side.", now());
    task.setIntent(null);
    task.getCode().getCodingFirstRep().setCode("no-such-task");
    assertNotEquals(List.of(), errors(task));
  }

  private static List<String> errors(Resource resource) {
    return ProfileValidation.errors(
        resource, PROFILES.getOrDefault(resource.fhirType(), new String[0]));
  }

  private static Resource order(PlanIdentity plan) {
    return PrescriptionWriter.write(
        plan,
        Sample.STEP,
        Sample.progress(),
        Kind.ORDER,
        ServiceRequestStatus.ACTIVE,
        Optional.of("a"),
        Optional.of("b"));
  }

  private static Resource plan(PlanIdentity plan) {
    CarePlan current = new CarePlan();
    current.setStatus(CarePlan.CarePlanStatus.ACTIVE);
    current.setIntent(CarePlan.CarePlanIntent.PLAN);
    current.addInstantiatesCanonical(Sample.PROGRAMME.id().canonical());
    current.addExtension(new Extension(Codes.SIDE, new CodeType("right")));
    current.setSubject(new Reference("Patient/ines-marlow"));
    return CarePlanWriter.apply(
        current,
        plan,
        List.of("a"),
        List.of("b"),
        List.of("g"),
        List.of("f"),
        Sample.progress(),
        Sample.progress());
  }

  private static Resource goal(PlanIdentity plan) {
    GoalDefinition range =
        Sample.goal(GoalDefinition.Kind.BODY, "comfortable-flexion", Direction.INCREASE);
    GoalReading reading =
        new GoalReading(
            range,
            Optional.of(
                new GoalReading.Target(
                    Amount.of(146, Unit.DEGREE), GoalReading.Basis.MEASURED, "other-side-flexion")),
            Optional.of(Amount.of(118, Unit.DEGREE)),
            Optional.of(Amount.of(131, Unit.DEGREE)),
            false);
    return GoalWriter.write(plan, reading, Optional.empty(), Optional.empty(), Sample.AS_OF);
  }

  private static Decision weighed() {
    Optional<Change.Piece> book =
        Optional.of(new Change.Piece("book", Amount.of(5, Unit.CENTIMETRE)));
    return Sample.maintain(Reason.STEP_TOO_BIG)
        .considered(
            new Change.Considered(
                Sample.LOWER,
                Reason.STEP_TOO_BIG,
                book,
                Optional.of(new Ratio(1.05, 1.1, 1.2, true, List.of("gap")))),
            new Change.Considered(
                Sample.LOWER, Reason.PRECAUTION_LIMITS, Optional.empty(), Optional.empty()))
        .figures(
            new Decision.Figures(
                8,
                1,
                0.8,
                0.8,
                0.2,
                1,
                0.9,
                0,
                Optional.empty(),
                Optional.of(new Ratio(1.02, 1.04, 1.08, true, List.of("gap"))),
                List.of()))
        .decision();
  }

  private static Date now() {
    return Date.from(Instant.parse("2026-05-04T05:31:02Z"));
  }
}
