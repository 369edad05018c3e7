package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Optional;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Observation.ObservationStatus;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Period;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.StringType;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;

/** What is refused and what is let through when a whole resource is checked. */
class RecordCheckTest {
  private static final RecordCheck CHECK =
      new RecordCheck(ProfileFiles.R4, ProfileFiles.all().values());

  static Stream<String> examples() {
    return ProfileFiles.examples().keySet().stream();
  }

  @ParameterizedTest
  @MethodSource("examples")
  void ourExamplesPass(String name) {
    assertEquals(List.of(), errors(ProfileFiles.examples().get(name)));
  }

  @Test
  void theCodesAndProfilesAndExtensionsOfOthersPass() {
    Observation observation = observation();
    observation.setCode(Codes.concept(Codes.LOINC, "00000-0", "no such code"));
    observation.addCategory(Codes.concept("https://codes.example/ours", "x", "ours"));
    observation.setBodySite(Codes.concept(Codes.SNOMED, "6757004", "Right knee"));
    observation.addExtension("https://extensions.example/mood", new StringType("cheerful"));
    observation.getMeta().addProfile("https://profiles.example/StructureDefinition/theirs");
    assertEquals(List.of(), errors(observation));
    assertFalse(CHECK.claimsKnownProfile(observation));
  }

  @Test
  void aProfileOfOursThatIsClaimedMustFit() {
    Observation observation = observation();
    observation.getMeta().addProfile(Codes.structure("session-report"));
    assertTrue(CHECK.claimsKnownProfile(observation));
    assertTrue(errors(observation).toString().contains("Observation"), "not refused");
  }

  @Test
  void aProfileIsKnownWithItsVersionToo() {
    assertTrue(CHECK.isKnown(Codes.structure("graded-goal") + "|1.0.0"));
    assertTrue(CHECK.isKnown("http://hl7.org/fhir/StructureDefinition/bodyweight"));
    assertFalse(CHECK.isKnown("https://profiles.example/StructureDefinition/theirs"));
  }

  @Test
  void anInvariantIsNamedWithItsElement() {
    Patient patient = new Patient();
    patient
        .addName()
        .setPeriod(
            new Period()
                .setStartElement(new DateTimeType("2026-02-01"))
                .setEndElement(new DateTimeType("2026-01-01")));
    List<RecordCheck.Finding> errors = errors(patient);
    assertEquals("Patient.name[0].period", errors.get(0).expression());
    assertTrue(errors.get(0).text().contains("per-1"), errors.toString());
  }

  @Test
  void aValueAndAReasonForItsAbsenceIsRefused() {
    Observation observation = observation();
    observation.setDataAbsentReason(
        Codes.concept(
            "http://terminology.hl7.org/CodeSystem/data-absent-reason", "error", "Error"));
    assertTrue(errors(observation).toString().contains("obs-6"), "not refused");
  }

  @Test
  void aScriptInANarrativeIsRefused() {
    Patient patient = new Patient();
    patient.getText().setStatusAsString("generated");
    patient
        .getText()
        .setDivAsString(
            "<div xmlns=\"http://www.w3.org/1999/xhtml\"><script>alert(1)</script></div>");
    assertTrue(errors(patient).toString().contains("Patient.text"), errors(patient).toString());
  }

  @Test
  void aContactPointNeedsItsSystem() {
    Patient patient = new Patient();
    patient.addCommunication().setLanguage(new CodeableConcept().setText("any"));
    patient.addTelecom().setValue("1");
    assertTrue(errors(patient).toString().contains("cpt-2"), errors(patient).toString());
  }

  private static Observation observation() {
    Observation observation = new Observation();
    observation.setStatus(ObservationStatus.FINAL);
    observation.setCode(Codes.concept(Codes.LOINC, Codes.LOINC_PAIN, null));
    observation.getSubject().setReference("Patient/ines-marlow");
    observation.setEffective(new DateTimeType("2026-05-04T07:30:00+02:00"));
    observation.setValue(new Quantity(null, 3, Codes.UCUM, "{score}", "{score}"));
    return observation;
  }

  private static List<RecordCheck.Finding> errors(Resource resource) {
    return CHECK.check(resource, Optional.empty()).stream()
        .filter(RecordCheck.Finding::isError)
        .toList();
  }
}
