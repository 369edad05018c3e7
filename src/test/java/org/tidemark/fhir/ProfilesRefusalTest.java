package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.nio.file.Path;
import java.util.List;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.StringType;
import org.junit.jupiter.api.Test;

/** The profiles refuse what does not fit them: one change to a valid instance, one refusal. */
class ProfilesRefusalTest {

  @Test
  void painAboveTen() {
    Observation report = wire("session-report", Observation.class);
    assertEquals(List.of(), errors(report, "session-report"));
    Quantity pain = component(report, "pain-during").getValueQuantity();
    pain.setValue(10);
    assertEquals(List.of(), errors(report, "session-report"));
    pain.setValue(11);
    assertRefused(report, "session-report", "tmk-3");
    pain.setValue(-1);
    assertRefused(report, "session-report", "tmk-3");
  }

  @Test
  void aPanelUnderAnotherCode() {
    assertRefused(wire("session-report", Observation.class), "morning-report", "Observation.code");
  }

  @Test
  void anUnknownUnit() {
    Observation report = wire("baseline-assessment", Observation.class);
    component(report, "gap").getValueQuantity().setCode("centimetres");
    assertRefused(report, "baseline-assessment", "centimetres");
  }

  @Test
  void aWarningThatIsNotAnsweredWithYesOrNo() {
    Observation report = wire("warning-report", Observation.class);
    report.getComponentFirstRep().setValue(new Quantity(1));
    assertRefused(report, "warning-report", "value");
  }

  @Test
  void aPlanWithoutSideOrWithAThirdOne() {
    CarePlan plan = wire("care-plan-enrolment", CarePlan.class);
    plan.getExtensionByUrl(Codes.structure("side")).setValue(new CodeType("middle"));
    assertRefused(plan, "graded-care-plan", "middle");
    plan.getExtension().removeIf(extension -> extension.getUrl().endsWith("/side"));
    assertRefused(plan, "graded-care-plan", "side");
  }

  @Test
  void aPrescriptionWithoutADoseOrWithAHoldInMinutes() {
    ServiceRequest prescription = wire("graded-prescription", ServiceRequest.class);
    Extension dose = prescription.getExtensionByUrl(Codes.structure("dose"));
    Quantity hold = new Quantity(null, 15, Codes.UCUM, "s", "s");
    dose.addExtension("hold", hold);
    assertEquals(List.of(), errors(prescription, "graded-prescription"));
    hold.setCode("min");
    assertRefused(prescription, "graded-prescription", "min");
    prescription.getExtension().remove(dose);
    assertRefused(prescription, "graded-prescription", "dose");
  }

  @Test
  void aDoseWithoutSets() {
    ServiceRequest prescription = wire("graded-prescription", ServiceRequest.class);
    prescription
        .getExtensionByUrl(Codes.structure("dose"))
        .getExtension()
        .removeIf(part -> "sets".equals(part.getUrl()));
    assertRefused(prescription, "graded-prescription", "sets");
  }

  @Test
  void aLimitWithAPartThatIsNotKnown() {
    Flag flag = wire("exercise-precaution", Flag.class);
    flag.getExtension().get(0).addExtension("mots", new Quantity(90));
    assertRefused(flag, "exercise-precaution", "extension");
  }

  @Test
  void anExtensionInAPlaceThatItIsNotFor() {
    Flag flag = wire("exercise-precaution", Flag.class);
    flag.addExtension(Codes.structure("response-policy"), new CodeType("symptom-free"));
    assertRefused(flag, "exercise-precaution", "response-policy");
  }

  @Test
  void anExtensionOfOursThatDoesNotExist() {
    CarePlan plan = wire("care-plan-enrolment", CarePlan.class);
    plan.addExtension(Codes.structure("mood"), new StringType("cheerful"));
    assertRefused(plan, "graded-care-plan", "mood");
  }

  @Test
  void aConditionWithTwoTests() {
    PlanDefinition plan = ProfileFiles.plan("knee-deep-flexion");
    Extension condition = plan.getAction().get(2).getExtensionByUrl(Codes.structure("condition"));
    condition.addExtension("owned", new BooleanType(true));
    assertRefused(plan, "graded-programme", "tmk-1");
  }

  @Test
  void aProgrammeThatCannotPlaceAnybody() {
    PlanDefinition plan = ProfileFiles.plan("knee-deep-flexion");
    plan.getExtension().removeIf(extension -> extension.getUrl().endsWith("/placement"));
    assertRefused(plan, "graded-programme", "placement");
  }

  @Test
  void aRangeThatIsNotAQuantity() {
    Observation range = wire("range-measurement", Observation.class);
    range.setValue(new StringType("116 degrees"));
    assertRefused(range, "range-measurement", "value");
    range.setValue(new Quantity(null, 116.5, Codes.UCUM, "deg", "deg"));
    assertEquals(List.of(), errors(range, "range-measurement"));
  }

  private static void assertRefused(Resource resource, String profile, String word) {
    List<String> errors = errors(resource, profile);
    assertTrue(
        errors.stream().anyMatch(error -> error.contains(word)),
        () -> "no error names " + word + ": " + errors);
  }

  private static List<String> errors(Resource resource, String profile) {
    return ProfileValidation.errors(resource, Codes.structure(profile));
  }

  private static <T extends Resource> T wire(String name, Class<T> type) {
    return type.cast(ProfileFiles.parse(Path.of("fhir-profiles/example", name + ".json")));
  }

  private static Observation.ObservationComponentComponent component(
      Observation report, String code) {
    return report.getComponent().stream()
        .filter(component -> code.equals(component.getCode().getCodingFirstRep().getCode()))
        .findFirst()
        .orElseThrow();
  }
}
