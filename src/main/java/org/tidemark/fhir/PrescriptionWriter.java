package org.tidemark.fhir;

import java.util.Map;
import java.util.Objects;
import java.util.Optional;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Timing;
import org.tidemark.decision.Decision;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Value;

/** Writes a prescription as a ServiceRequest. */
public final class PrescriptionWriter {
  private static final int DAYS_OF_A_WEEK = 7;

  /** Whether a prescription is in force or waits for a clinician. */
  public enum Kind {
    /** To be done. */
    ORDER(ServiceRequest.ServiceRequestIntent.ORDER),
    /** Not to be done before a clinician has agreed. */
    PROPOSAL(ServiceRequest.ServiceRequestIntent.PROPOSAL);

    private final ServiceRequest.ServiceRequestIntent intent;

    Kind(ServiceRequest.ServiceRequestIntent intent) {
      this.intent = intent;
    }
  }

  private PrescriptionWriter() {}

  /**
   * A new request, without an id.
   *
   * @param why the decision that it comes from; it is authored as of that decision
   * @param replacesId id of the ServiceRequest that it replaces, if any
   * @param basedOnProposalId id of the proposal that a clinician accepted, if any
   */
  public static ServiceRequest write(
      PlanIdentity plan,
      Prescription prescription,
      Decision why,
      Kind kind,
      ServiceRequest.ServiceRequestStatus status,
      Optional<String> replacesId,
      Optional<String> basedOnProposalId) {
    String variation = prescription.variation();
    String title = plan.words().title(variation);
    ServiceRequest request = new ServiceRequest();
    request.setText(PlanText.prescription(plan, prescription, why, kind));
    request.addExtension(new Extension(Codes.STAGE_OF, new CodeType(prescription.stage())));
    for (Map.Entry<String, Value> entry : prescription.setting().values().entrySet()) {
      request.addExtension(Extensions.setting(entry));
    }
    request.addExtension(Extensions.dose(prescription.dose()));
    request.addInstantiatesCanonical(
        Codes.BASE + "/ActivityDefinition/" + variation + "|" + plan.programme().id().version());
    basedOnProposalId.ifPresent(id -> request.addBasedOn(reference(id)));
    replacesId.ifPresent(id -> request.addReplaces(reference(id)));
    request.setStatus(status);
    request.setIntent(kind.intent);
    request.addCategory(
        Codes.concept(Codes.SNOMED, Codes.SNOMED_PHYSICAL_THERAPY, "Physical therapy procedure"));
    request.setCode(code(variation, title));
    request.setSubject(new Reference(plan.subject()));
    request.setOccurrence(timing(prescription.dose()));
    request.setAuthoredOnElement(DateTimes.dateTime(why.asOf()));
    request.setRequester(new Reference(plan.engineDevice()));
    request.addBodySite(BodySites.of(plan.texts(), plan.programme(), plan.side()));
    request.setPatientInstruction(instruction(plan, prescription, kind));
    return request;
  }

  /** The variation, and beside it a code of exercise at large for whoever does not know ours. */
  private static CodeableConcept code(String variation, String title) {
    CodeableConcept code = Codes.concept(Codes.EXERCISE_VARIATION, variation, title);
    code.addCoding(
        new Coding(Codes.SNOMED, Codes.SNOMED_THERAPEUTIC_EXERCISE, "Therapeutic exercise"));
    return code.setText(title);
  }

  /**
   * A copy of a request with its words as the plan's language has them. An instruction that someone
   * else has written stays.
   */
  public static ServiceRequest tell(
      ServiceRequest request,
      PlanIdentity plan,
      Prescription prescription,
      Decision why,
      Kind kind) {
    ServiceRequest told = request.copy();
    told.setText(PlanText.prescription(plan, prescription, why, kind));
    told.setPatientInstruction(instruction(plan, prescription, kind));
    return told;
  }

  /**
   * Brings the words of a prescription in line with what a clinician has set it to. Words that the
   * clinician has written stay.
   *
   * @param request the request as the clinician has written it; it is changed
   * @param former the request before
   * @param set what it asks now
   * @param why the decision that took the clinician's word in
   * @return whether anything was changed
   */
  public static boolean reword(
      ServiceRequest request,
      ServiceRequest former,
      PlanIdentity plan,
      Prescription set,
      Decision why) {
    boolean text = request.getText().equalsDeep(former.getText());
    boolean instruction =
        Objects.equals(request.getPatientInstruction(), former.getPatientInstruction());
    if (text) {
      request.setText(PlanText.prescription(plan, set, why, Kind.ORDER));
    }
    if (instruction) {
      request.setPatientInstruction(instruction(plan, set, Kind.ORDER));
    }
    return text || instruction;
  }

  /**
   * A copy of an order with one variable set otherwise. Its narrative and its instruction are left
   * out, as they speak of the former setting.
   *
   * @param request an order that sets the variable
   */
  public static ServiceRequest set(ServiceRequest request, String variable, Value value) {
    ServiceRequest changed = request.copy();
    changed.setText(null);
    changed.setPatientInstruction(null);
    changed.getExtensionsByUrl(Codes.SETTING).stream()
        .filter(set -> variable.equals(set.getExtensionString("variable")))
        .forEach(set -> set.getExtensionByUrl("value").setValue(Extensions.value(value)));
    return changed;
  }

  private static Reference reference(String id) {
    return new Reference("ServiceRequest/" + id);
  }

  private static Timing timing(Dose dose) {
    int times = dose.timesPerWeek();
    boolean daily = times % DAYS_OF_A_WEEK == 0;
    Timing timing = new Timing();
    timing
        .getRepeat()
        .setFrequency(daily ? times / DAYS_OF_A_WEEK : times)
        .setPeriod(1)
        .setPeriodUnit(daily ? Timing.UnitsOfTime.D : Timing.UnitsOfTime.WK);
    return timing;
  }

  private static String instruction(PlanIdentity plan, Prescription prescription, Kind kind) {
    Texts texts = plan.texts();
    StringBuilder words = new StringBuilder();
    if (kind == Kind.PROPOSAL) {
      words.append(texts.of("exercise.proposed")).append(" ");
    }
    words.append(
        texts.of(
            "exercise.instruction",
            plan.words().title(prescription.variation()),
            BodySites.words(texts, plan.programme(), plan.side()),
            plan.words().dose(prescription.dose())));
    sentence(words, plan.words().setting(prescription));
    sentence(
        words,
        plan.programme()
            .variation(prescription.variation())
            .map(Variation::instruction)
            .orElse(""));
    sentence(words, SafetyText.sessionRule(texts));
    sentence(words, texts.of("plan.stop.sentence"));
    SafetyText.signs(texts)
        .forEach(signs -> sentence(words, signs.urgency() + " " + signs.sentences()));
    return words.toString();
  }

  private static void sentence(StringBuilder words, String sentence) {
    if (!sentence.isBlank()) {
      words.append('\n').append(sentence);
    }
  }
}
