package org.tidemark.fhir;

import java.util.Date;
import java.util.List;
import java.util.Optional;
import org.hl7.fhir.r4.model.Narrative;
import org.hl7.fhir.r4.model.Provenance;
import org.hl7.fhir.r4.model.Provenance.ProvenanceEntityRole;
import org.hl7.fhir.r4.model.Reference;
import org.tidemark.decision.Decision;
import org.tidemark.decision.FactSource;
import org.tidemark.decision.Verdict;

/** Writes what a decision wrote and what it rests on, each in its exact version. */
public final class ProvenanceWriter {
  private ProvenanceWriter() {}

  record ProvenanceSaid(String title, String heading, String asOf, List<String> restsOn) {}

  /**
   * A new trail, without an id.
   *
   * @param versionedTargets what the decision wrote, such as {@code CarePlan/1/_history/4}; at
   *     least one
   * @param withdrawn the versions by which records were taken back, which led to the decision
   * @param clinician the clinician whose act led to the decision, as a reference
   * @param recorded when it is stored
   * @throws IllegalArgumentException when there is no target
   */
  public static Provenance write(
      PlanIdentity plan,
      Decision decision,
      List<String> versionedTargets,
      List<FactSource> withdrawn,
      Optional<String> clinician,
      Date recorded) {
    if (versionedTargets.isEmpty()) {
      throw new IllegalArgumentException("a trail leads to something that was written");
    }
    Provenance provenance = new Provenance();
    provenance.setText(text(plan, decision));
    versionedTargets.forEach(target -> provenance.addTarget(new Reference(target)));
    provenance.setOccurred(DateTimes.dateTime(decision.asOf()));
    provenance.setRecorded(recorded);
    provenance.setActivity(Codes.concept(Codes.DATA_OPERATION, "UPDATE", "revise"));
    if (decision.verdict() != Verdict.INCOMPLETE) {
      provenance
          .getActivity()
          .addCoding()
          .setSystem(Codes.DECISION)
          .setCode(decision.verdict().code());
    }
    provenance.getActivity().setText(PlanText.heading(plan.texts(), decision));
    provenance
        .addAgent()
        .setType(Codes.concept(Codes.PARTICIPANT_TYPE, "author", "Author"))
        .setWho(new Reference(plan.engineDevice()))
        .setOnBehalfOf(new Reference(plan.organisation()));
    clinician.ifPresent(
        who ->
            provenance
                .addAgent()
                .setType(Codes.concept(Codes.PARTICIPANT_TYPE, "performer", "Performer"))
                .setWho(new Reference(who)));
    decision.restsOn().forEach(source -> entity(provenance, source, ProvenanceEntityRole.SOURCE));
    withdrawn.forEach(source -> entity(provenance, source, ProvenanceEntityRole.REMOVAL));
    return provenance;
  }

  private static void entity(Provenance provenance, FactSource source, ProvenanceEntityRole role) {
    provenance.addEntity().setRole(role).setWhat(new Reference(source.reference()));
  }

  private static Narrative text(PlanIdentity plan, Decision decision) {
    Texts texts = plan.texts();
    return NarrativePage.PROVENANCE.narrative(
        texts,
        new ProvenanceSaid(
            PlanText.title(plan),
            PlanText.heading(texts, decision),
            texts.time(decision.asOf()),
            decision.restsOn().stream().map(FactSource::reference).toList()));
  }
}
