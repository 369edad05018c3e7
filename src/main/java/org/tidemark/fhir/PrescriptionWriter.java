package org.tidemark.fhir;

import java.util.Map;
import java.util.Optional;
import org.hl7.fhir.r4.model.CodeType;
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
    String title = PrescriptionText.title(plan.programme(), variation);
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
    request.setCode(Codes.concept(Codes.EXERCISE_VARIATION, variation, title).setText(title));
    request.setSubject(new Reference(plan.subject()));
    request.setOccurrence(timing(prescription.dose()));
    request.setAuthoredOnElement(DateTimes.dateTime(why.asOf()));
    request.setRequester(new Reference(plan.engineDevice()));
    request.addBodySite(BodySites.of(plan.programme(), plan.side()));
    request.setPatientInstruction(instruction(plan, prescription, kind));
    return request;
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
    StringBuilder words = new StringBuilder();
    if (kind == Kind.PROPOSAL) {
      words.append("Proposed: not to be done before a clinician has agreed. ");
    }
    words
        .append(PrescriptionText.title(plan.programme(), prescription.variation()))
        .append(", ")
        .append(BodySites.words(plan.programme(), plan.side()))
        .append(": ")
        .append(PrescriptionText.dose(prescription.dose()))
        .append(".");
    sentence(words, PrescriptionText.setting(plan.programme(), prescription));
    sentence(
        words,
        plan.programme()
            .variation(prescription.variation())
            .map(Variation::instruction)
            .orElse(""));
    sentence(words, SafetyText.sessionRule());
    sentence(words, "Stop all exercise and report it when one of these shows.");
    SafetyText.signs()
        .forEach(sign -> sentence(words, sign.name() + " " + String.join(" ", sign.lines())));
    return words.toString();
  }

  private static void sentence(StringBuilder words, String sentence) {
    if (!sentence.isBlank()) {
      words.append('\n').append(sentence);
    }
  }
}
