package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertNotEquals;

import ca.uhn.fhir.context.support.DefaultProfileValidationSupport;
import ca.uhn.fhir.validation.FhirValidator;
import ca.uhn.fhir.validation.ResultSeverityEnum;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.Instant;
import java.util.Date;
import java.util.List;
import java.util.Optional;
import java.util.stream.Stream;
import org.hl7.fhir.common.hapi.validation.support.CommonCodeSystemsTerminologyService;
import org.hl7.fhir.common.hapi.validation.support.InMemoryTerminologyServerValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.PrePopulatedValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.ValidationSupportChain;
import org.hl7.fhir.common.hapi.validation.validator.FhirInstanceValidator;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeSystem;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest.ServiceRequestStatus;
import org.hl7.fhir.r4.model.Task;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.DynamicTest;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.TestFactory;
import org.tidemark.decision.GoalReading;
import org.tidemark.fhir.PrescriptionWriter.Kind;
import org.tidemark.programme.Direction;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/**
 * Everything that is written is valid R4 in the eyes of the reference validator, our reasons and
 * tasks among the codes.
 */
class WrittenResourcesValidTest {
  private static FhirValidator validator;

  @BeforeAll
  static void build() throws IOException {
    PrePopulatedValidationSupport ours = new PrePopulatedValidationSupport(Sample.R4);
    for (String id : List.of("decision-reason", "clinician-task")) {
      ours.addCodeSystem(
          Sample.R4
              .newJsonParser()
              .parseResource(
                  CodeSystem.class,
                  Files.readString(Path.of("fhir-profiles", "CodeSystem", id + ".json"))));
    }
    FhirInstanceValidator instances =
        new FhirInstanceValidator(
            new ValidationSupportChain(
                new DefaultProfileValidationSupport(Sample.R4),
                ours,
                new CommonCodeSystemsTerminologyService(Sample.R4),
                new InMemoryTerminologyServerValidationSupport(Sample.R4)));
    validator = Sample.R4.newValidator().registerValidatorModule(instances);
  }

  @TestFactory
  Stream<DynamicTest> isValid() {
    return Stream.of(
            order(),
            plan(),
            goal(),
            GuidanceWriter.write(Sample.PLAN, Sample.progress(), List.of("CarePlan/plan-1")),
            GuidanceWriter.write(Sample.PLAN, Sample.incomplete(), List.of("CarePlan/plan-1")),
            ProvenanceWriter.write(
                Sample.PLAN, Sample.progress(), List.of("CarePlan/plan-1/_history/2"), now()),
            ConcernWriter.warning(Sample.PLAN, Sample.warned()),
            ConcernWriter.review(Sample.PLAN, Sample.warned(), "CarePlan/plan-1"),
            ConcernWriter.approval(Sample.PLAN, "ServiceRequest/c", Sample.progress()),
            ConcernWriter.parked("Patient/x", "Observation/9", "It names no side.", now()))
        .map(
            resource ->
                DynamicTest.dynamicTest(
                    resource.fhirType(), () -> assertEquals("", errors(resource))));
  }

  @Test
  void theValidatorBites() {
    Task task = ConcernWriter.parked("Patient/x", "Observation/9", "It names no side.", now());
    task.setIntent(null);
    task.getCode().getCodingFirstRep().setCode("no-such-task");
    assertNotEquals("", errors(task));
  }

  private static String errors(Resource resource) {
    StringBuilder errors = new StringBuilder();
    validator.validateWithResult(resource).getMessages().stream()
        .filter(message -> message.getSeverity().compareTo(ResultSeverityEnum.ERROR) >= 0)
        .forEach(
            message ->
                errors
                    .append(message.getLocationString())
                    .append(": ")
                    .append(message.getMessage())
                    .append('\n'));
    return errors.toString();
  }

  private static Resource order() {
    return PrescriptionWriter.write(
        Sample.PLAN,
        Sample.STEP,
        Sample.progress(),
        Kind.ORDER,
        ServiceRequestStatus.ACTIVE,
        Optional.of("a"),
        Optional.of("b"));
  }

  private static Resource plan() {
    CarePlan current = new CarePlan();
    current.setStatus(CarePlan.CarePlanStatus.ACTIVE);
    current.setIntent(CarePlan.CarePlanIntent.PLAN);
    current.setSubject(new Reference("Patient/ines-marlow"));
    return CarePlanWriter.apply(
        current,
        Sample.PLAN,
        List.of("a"),
        List.of("b"),
        List.of("g"),
        Sample.progress(),
        Sample.progress());
  }

  private static Resource goal() {
    GoalDefinition range =
        Sample.goal(GoalDefinition.Kind.BODY, "comfortable-flexion", Direction.INCREASE);
    GoalReading reading =
        new GoalReading(
            range,
            Optional.of(Amount.of(146, Unit.DEGREE)),
            Optional.of(Amount.of(118, Unit.DEGREE)),
            Optional.of(Amount.of(131, Unit.DEGREE)),
            false);
    return GoalWriter.write(Sample.PLAN, reading, Optional.empty(), Sample.AS_OF);
  }

  private static Date now() {
    return Date.from(Instant.parse("2026-05-04T05:31:02Z"));
  }
}
