package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.context.FhirContext;
import java.util.ArrayList;
import java.util.List;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Provenance;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Task;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.application.Types;

/** Which parameters each type has, and what resources give for them. */
class SearchParametersTest {
  private static final FhirContext CONTEXT = FhirContext.forR4Cached();
  private static final SearchParameters PARAMETERS =
      new SearchParameters(CONTEXT, new References("http://here.example/fhir"));

  private static List<String> values(Resource resource) {
    List<String> values = new ArrayList<>();
    PARAMETERS.extract(
        resource,
        new SearchParameters.Sink() {
          @Override
          public void token(String parameter, String system, String code) {
            values.add(parameter + " " + system + "|" + code);
          }

          @Override
          public void uri(String parameter, String target) {
            values.add(parameter + " " + target);
          }

          @Override
          public void span(String parameter, TimeSpan span) {
            values.add(parameter + " " + java.time.Instant.ofEpochMilli(span.lowMs()));
          }

          @Override
          public void quantity(String parameter, SearchedQuantity quantity) {
            values.add(parameter + " " + quantity.amount() + " " + quantity.unit());
          }
        });
    return values;
  }

  @Test
  void everyDeclaredPathOfEveryServedTypeCanBeRead() {
    for (String type : Types.WRITTEN) {
      assertTrue(!PARAMETERS.of(type).isEmpty(), type);
    }
    Types.PUBLISHED.forEach(type -> assertTrue(PARAMETERS.find(type, "url").isPresent(), type));
  }

  @Test
  void aPathThatTheWalkDoesNotKnowIsRefusedWhenItIsRead() {
    assertThrows(
        IllegalArgumentException.class,
        () -> SearchPath.read("Observation", "Observation.code.extension('x').value"));
    assertThrows(
        IllegalArgumentException.class, () -> SearchPath.read("Observation", "Patient.name"));
  }

  @ParameterizedTest
  @CsvSource({
    "Observation,patient subject code category date status identifier based-on derived-from value-quantity",
    "QuestionnaireResponse,patient subject questionnaire authored status identifier based-on",
    "Questionnaire,url version status date identifier",
    "CarePlan,patient subject category date status identifier based-on instantiates-canonical goal activity-reference",
    "ServiceRequest,patient subject code category status identifier based-on instantiates-canonical replaces authored intent",
    "Task,patient subject code status identifier based-on focus authored-on",
    "Goal,patient subject category identifier lifecycle-status",
    "Flag,patient subject date identifier",
    "Provenance,patient target recorded",
    "PlanDefinition,url version status date identifier",
    "Device,patient identifier status url",
    "Patient,identifier"
  })
  void eachTypeHasTheStandardsParameters(String type, String names) {
    List<String> declared =
        PARAMETERS.of(type).stream().map(SearchParameters.Parameter::name).toList();
    for (String name : names.split(" ")) {
      assertTrue(declared.contains(name), type + " lacks " + name + ": " + declared);
    }
  }

  @Test
  void anObservationGivesItsValues() {
    Observation observation = new Observation();
    observation.setStatus(Observation.ObservationStatus.FINAL);
    observation.getCode().addCoding().setSystem("http://loinc.org").setCode("72514-3");
    observation.getSubject().setReference("http://here.example/fhir/Patient/1/_history/4");
    observation.getEffectivePeriod().getStartElement().setValueAsString("2026-03-02");
    observation.addBasedOn().setReference("ServiceRequest/7");
    List<String> values = values(observation);
    assertTrue(
        values.containsAll(
            List.of(
                "code http://loinc.org|72514-3",
                "patient Patient/1",
                "subject Patient/1",
                "status http://hl7.org/fhir/observation-status|final",
                "date 2026-03-02T00:00:00Z",
                "based-on ServiceRequest/7")),
        values.toString());
  }

  @Test
  void aPatientIsOnlyWhatIsAPatient() {
    Provenance provenance = new Provenance();
    provenance.addTarget().setReference("Patient/1");
    provenance.addTarget().setReference("CarePlan/2/_history/3");
    assertEquals(
        List.of("patient Patient/1", "target CarePlan/2", "target Patient/1"),
        values(provenance).stream().sorted().toList());
  }

  @Test
  void aCanonicalIsFoundWithAndWithoutItsVersion() {
    CarePlan plan = new CarePlan();
    plan.addInstantiatesCanonical("https://tidemark.example/fhir/PlanDefinition/p|1.0.0");
    assertEquals(
        List.of(
            "instantiates-canonical https://tidemark.example/fhir/PlanDefinition/p|1.0.0",
            "instantiates-canonical https://tidemark.example/fhir/PlanDefinition/p"),
        values(plan));
  }

  @Test
  void aRequestAndATaskSayWhenTheyWereAuthored() {
    assertEquals(List.of("authored"), PARAMETERS.happened("ServiceRequest"));
    Task task = new Task();
    task.getAuthoredOnElement().setValueAsString("2026-03-02T10:00:00+01:00");
    task.getFocus().setReference("ServiceRequest/1");
    assertEquals(
        List.of("authored-on 2026-03-02T09:00:00Z", "focus ServiceRequest/1"),
        values(task).stream().sorted().toList());
    assertEquals(List.of(), values(new ServiceRequest()));
    assertEquals(List.of(), PARAMETERS.happened("GuidanceResponse"));
    assertTrue(values(new Bundle()).isEmpty());
  }
}
