package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.ServiceRequest.ServiceRequestStatus;
import org.hl7.fhir.r4.model.Timing;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.fhir.PrescriptionWriter.Kind;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Side;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

class PrescriptionWriterTest {

  @Test
  void theSettingComesBackAsItWasWritten() {
    ServiceRequest stored = Sample.stored(ServiceRequest.class, order(Sample.PLAN, Sample.STEP));
    Map<String, Value> read = new LinkedHashMap<>();
    for (Extension setting : stored.getExtensionsByUrl(Codes.structure("setting"))) {
      String variable = setting.getExtensionString("variable");
      read.put(variable, value(setting.getExtensionByUrl("value")));
    }
    assertEquals(Sample.STEP.setting(), new Setting(read));
  }

  @Test
  void thePrescriptionIsReadAsItWasWritten() {
    ServiceRequest stored = Sample.stored(ServiceRequest.class, order(Sample.PLAN, Sample.STEP));
    assertEquals(
        Sample.STEP, PrescriptionReader.read(stored, Sample.PROGRAMME, Optional.of(Sample.STEP)));
  }

  @Test
  void theDoseHoldsOnlyWhatBelongsToTheExercise() {
    Extension reps = order(Sample.PLAN, Sample.STEP).getExtensionByUrl(Codes.structure("dose"));
    assertEquals(
        List.of("sets", "repetitions"),
        reps.getExtension().stream().map(Extension::getUrl).toList());
    assertEquals("2", reps.getExtensionByUrl("sets").getValueAsPrimitive().getValueAsString());
    assertEquals(
        "10", reps.getExtensionByUrl("repetitions").getValueAsPrimitive().getValueAsString());

    Prescription held =
        new Prescription(
            "unloaded",
            "split-squat-rock",
            new Setting(Map.of()),
            new org.tidemark.programme.Dose(3, 0, 20, 0, 7));
    Extension hold = order(Sample.PLAN, held).getExtensionByUrl(Codes.structure("dose"));
    assertEquals(
        List.of("sets", "hold"), hold.getExtension().stream().map(Extension::getUrl).toList());
    Quantity seconds = (Quantity) hold.getExtensionByUrl("hold").getValue();
    assertEquals(20, seconds.getValue().intValue());
    assertEquals("s", seconds.getCode());
    assertEquals(Codes.UCUM, seconds.getSystem());
  }

  @Test
  void anOrderSaysWhoWhatWhereAndSinceWhen() {
    ServiceRequest order = order(Sample.PLAN, Sample.STEP);
    assertEquals(ServiceRequest.ServiceRequestIntent.ORDER, order.getIntent());
    assertEquals(ServiceRequestStatus.ACTIVE, order.getStatus());
    assertEquals("Patient/ines-marlow", order.getSubject().getReference());
    assertEquals("Device/tidemark-engine", order.getRequester().getReference());
    assertEquals("2026-05-04T07:30:00+02:00", order.getAuthoredOnElement().getValueAsString());
    assertEquals(
        "https://tidemark.example/fhir/ActivityDefinition/split-squat-rock|1.0.0",
        order.getInstantiatesCanonical().get(0).getValue());
    assertTrue(order.getCode().hasCoding(Codes.EXERCISE_VARIATION, "split-squat-rock"));
    assertTrue(order.getCode().hasCoding(Codes.SNOMED, "51998003"));
    assertEquals("Rocking forward into the full bend", order.getCode().getText());
    assertTrue(order.getCategoryFirstRep().hasCoding(Codes.SNOMED, "91251008"));
    assertEquals("body-weight", order.getExtensionString(Codes.structure("stage")));
    assertFalse(order.hasReplaces());
    assertFalse(order.hasBasedOn());
  }

  @Test
  void itSaysWhatItReplacesAndWhichProposalItComesFrom() {
    ServiceRequest order =
        PrescriptionWriter.write(
            Sample.PLAN,
            Sample.STEP,
            Sample.progress(),
            Kind.ORDER,
            ServiceRequestStatus.ACTIVE,
            Optional.of("former"),
            Optional.of("proposal"));
    assertEquals("ServiceRequest/former", order.getReplacesFirstRep().getReference());
    assertEquals("ServiceRequest/proposal", order.getBasedOnFirstRep().getReference());
  }

  @Test
  void aProposalSaysInItsWordsThatItIsNotToBeDone() {
    ServiceRequest proposal =
        PrescriptionWriter.write(
            Sample.PLAN,
            Sample.STEP,
            Sample.progress(),
            Kind.PROPOSAL,
            ServiceRequestStatus.DRAFT,
            Optional.empty(),
            Optional.empty());
    assertEquals(ServiceRequest.ServiceRequestIntent.PROPOSAL, proposal.getIntent());
    assertTrue(proposal.getPatientInstruction().startsWith("Proposed: not to be done"));
    assertTrue(proposal.getText().getDivAsString().contains("not to be done before a clinician"));
  }

  @Test
  void theInstructionStandsAlone() {
    String words = order(Sample.PLAN, Sample.STEP).getPatientInstruction();
    for (String part :
        List.of(
            "Rocking forward into the full bend, right knee: 2 sets of 10 repetitions, daily.",
            "Height of the step under the front foot: 17.5 cm.",
            "Help of the hands: one hand.",
            "Put your front foot on the step.",
            "above 5 out of 10 always stop.",
            "Seek emergency care now. The joint is hot, red or swollen.")) {
      assertTrue(words.contains(part), part + " is missing in: " + words);
    }
    assertFalse(words.contains("Dumbbell"), words);
  }

  @ParameterizedTest(name = "{0} a week: {1} per {2}")
  @CsvSource({"7, 1, D", "14, 2, D", "21, 3, D", "3, 3, WK", "10, 10, WK", "1, 1, WK"})
  void theTimingSaysHowOften(int perWeek, int frequency, Timing.UnitsOfTime unit) {
    Prescription often =
        new Prescription(
            "body-weight",
            "split-squat-rock",
            Sample.STEP.setting(),
            Sample.TWO_TENS.timesPerWeek(perWeek));
    var repeat = order(Sample.PLAN, often).getOccurrenceTiming().getRepeat();
    assertEquals(frequency, repeat.getFrequency());
    assertEquals(1, repeat.getPeriod().intValue());
    assertEquals(unit, repeat.getPeriodUnit());
  }

  @ParameterizedTest(name = "{0}: {1}")
  @CsvSource({"RIGHT, 24028007, right knee", "LEFT, 7771000, left knee"})
  void theBodySiteIsOneRegionAndThePlansOwnSide(Side side, String code, String words) {
    PlanIdentity plan =
        new PlanIdentity(
            "p", "Patient/x", side, Sample.PROGRAMME, "Device/d", "Organization/o", Locale.ENGLISH);
    var site = order(plan, Sample.STEP).getBodySiteFirstRep();
    assertEquals(
        List.of("72696002", code), site.getCoding().stream().map(Coding::getCode).toList());
    assertEquals("Knee region structure", site.getCodingFirstRep().getDisplay());
    assertEquals(words, site.getText());
  }

  @Test
  void aRegionWithoutAKnownTermIsWrittenByItsCodeAlone() {
    Programme p = Sample.PROGRAMME;
    Programme other =
        new Programme(
            p.id(),
            p.title(),
            java.util.Set.of("344001"),
            p.needs(),
            p.placements(),
            p.stages(),
            p.goals(),
            p.plateauOptions(),
            p.maintenancePerWeek(),
            p.demandCap(),
            p.leastAdherence());
    var site = order(Sample.plan(other), Sample.STEP).getBodySiteFirstRep();
    assertEquals("344001", site.getCodingFirstRep().getCode());
    assertFalse(site.getCodingFirstRep().hasDisplay());
    assertEquals("right side", site.getText());
  }

  @Test
  void aPersonInAnotherRecordSystemIsReferredToThere() {
    String there = "https://records.example/fhir/Patient/77";
    PlanIdentity plan =
        new PlanIdentity(
            "p", there, Side.LEFT, Sample.PROGRAMME, "Device/d", "Organization/o", Locale.ENGLISH);
    ServiceRequest stored = Sample.stored(ServiceRequest.class, order(plan, Sample.STEP));
    assertEquals(there, stored.getSubject().getReference());
  }

  private static ServiceRequest order(PlanIdentity plan, Prescription prescription) {
    return PrescriptionWriter.write(
        plan,
        prescription,
        Sample.progress(),
        Kind.ORDER,
        ServiceRequestStatus.ACTIVE,
        Optional.empty(),
        Optional.empty());
  }

  private static Value value(Extension extension) {
    if (extension.getValue() instanceof Quantity quantity) {
      assertEquals(Codes.UCUM, quantity.getSystem());
      return new Amount(quantity.getValue(), Unit.find(quantity.getCode()).orElseThrow());
    }
    return new Grade(((CodeType) extension.getValue()).getValue());
  }
}
