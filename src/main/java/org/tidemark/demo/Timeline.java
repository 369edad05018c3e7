package org.tidemark.demo;

import java.util.ArrayList;
import java.util.Comparator;
import java.util.HashMap;
import java.util.HashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.Provenance;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Task;
import org.tidemark.fhir.Codes;

/**
 * What the service decided for each person, read back over HTTP: the GuidanceResponse says what and
 * why, its Provenance what it rests on and what it wrote.
 */
public final class Timeline {
  /** Reasons to leave a plan as it is that a reader wants to see once, when they begin. */
  private static final Set<String> TELLING =
      Set.of(
          "one-stirred",
          "clinician-override",
          "resumed",
          "sign-off-refused",
          "precaution-limits",
          "no-feasible-change",
          "step-too-big",
          "requirement-not-met",
          "back-off",
          "goal-not-met",
          "contact-not-reached");

  private static final Set<String> ALWAYS_TOLD = Set.of("place", "complete", "incomplete");

  private final DemoClient client;
  private final Map<String, Provenance> trails = new HashMap<>();

  /** Reads every trail that the service has left. */
  public Timeline(DemoClient client) {
    this.client = client;
    for (Provenance trail : client.list(Provenance.class, "")) {
      targets(trail)
          .filter(target -> target.getResourceType().equals("GuidanceResponse"))
          .forEach(target -> trails.put(target.getIdPart(), trail));
    }
  }

  /** The decisions of a person that changed something or are worth telling, oldest first. */
  public List<Moment> of(String person) {
    String patient = "patient=Patient/" + person + "&";
    Map<String, Resource> known = new HashMap<>();
    Diaries.diary(person).forEach(page -> known.put(name(page.resource()), page.resource()));
    client.list(Task.class, patient).forEach(task -> known.put(name(task), task));
    client.list(ServiceRequest.class, patient).forEach(order -> known.put(name(order), order));
    List<Moment> told = new ArrayList<>();
    Moment before = null;
    for (GuidanceResponse guidance : inOrder(patient)) {
      Moment moment = moment(guidance, known);
      if (isTold(moment, before)) {
        told.add(moment);
      }
      before = moment;
    }
    return told;
  }

  private List<GuidanceResponse> inOrder(String patient) {
    return client.list(GuidanceResponse.class, patient).stream()
        .sorted(
            Comparator.comparing(
                (GuidanceResponse guidance) -> guidance.getMeta().getLastUpdated()))
        .toList();
  }

  private static boolean isTold(Moment moment, Moment before) {
    Set<String> fresh = new HashSet<>(moment.reasons());
    if (before != null) {
      fresh.removeAll(before.reasons());
    }
    fresh.retainAll(TELLING);
    boolean turned =
        (moment.verdict().equals("withhold") || moment.verdict().equals("regress"))
            && (before == null || !before.line().substring(10).equals(moment.line().substring(10)));
    return !moment.prescribed().isEmpty()
        || !moment.proposed().isEmpty()
        || turned
        || !fresh.isEmpty()
        || ALWAYS_TOLD.contains(moment.verdict());
  }

  private Moment moment(GuidanceResponse guidance, Map<String, Resource> known) {
    Provenance trail = trails.get(guidance.getIdElement().getIdPart());
    if (trail == null) {
      throw new IllegalStateException("no trail leads to " + guidance.getId());
    }
    List<String> prescribed = new ArrayList<>();
    List<String> proposed = new ArrayList<>();
    targets(trail)
        .filter(target -> target.getResourceType().equals("ServiceRequest"))
        .filter(target -> target.getVersionIdPart().equals("1"))
        .map(target -> (ServiceRequest) known.get("ServiceRequest/" + target.getIdPart()))
        .forEach(
            order ->
                (order.getIntent() == ServiceRequest.ServiceRequestIntent.PROPOSAL
                        ? proposed
                        : prescribed)
                    .add(Words.prescription(order)));
    List<Coding> reasons =
        guidance.getReasonCode().stream().map(CodeableConcept::getCodingFirstRep).toList();
    Extension verdict = guidance.getExtensionByUrl(Codes.structure("decision"));
    return new Moment(
        guidance.getOccurrenceDateTimeElement().getValueAsString().substring(0, 10),
        cameIn(trail, known),
        verdict == null ? "incomplete" : verdict.getValue().primitiveValue(),
        reasons.stream().map(Coding::getCode).toList(),
        reasons.stream().map(Coding::getDisplay).toList(),
        prescribed,
        proposed);
  }

  /** The first record that a decision rests on is the one that it followed. */
  private static String cameIn(Provenance trail, Map<String, Resource> known) {
    IdType newest = new IdType(trail.getEntityFirstRep().getWhat().getReference());
    String name = newest.getResourceType() + "/" + newest.getIdPart();
    if (known.containsKey(name)) {
      return Words.report(known.get(name));
    }
    return newest.getResourceType().equals("CarePlan") ? "enrolled" : "baseline";
  }

  private static Stream<IdType> targets(Provenance trail) {
    return trail.getTarget().stream().map(Reference::getReference).map(IdType::new);
  }

  private static String name(Resource resource) {
    return resource.fhirType() + "/" + resource.getIdElement().getIdPart();
  }
}
