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
  private static final String CONTACT_NOT_REACHED = "contact-not-reached";

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
          CONTACT_NOT_REACHED);

  /** Decisions that are told when a plan turns to them. */
  private static final Set<String> TURNS =
      Set.of("place", "complete", "incomplete", "withhold", "regress");

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
    sent(person, known);
    client.list(Task.class, patient).forEach(task -> known.put(name(task), task));
    client.list(ServiceRequest.class, patient).forEach(order -> known.put(name(order), order));
    List<Moment> told = new ArrayList<>();
    Set<String> said = new HashSet<>();
    Set<String> limits = new HashSet<>();
    Set<String> helping = new HashSet<>();
    String verdict = "";
    String date = "";
    for (GuidanceResponse guidance : inOrder(patient)) {
      Provenance trail = trail(guidance);
      List<String> fresh = freshLimits(trail, limits);
      Moment moment = moment(guidance, trail, known).after(date, reports(fresh, known));
      Set<String> telling = telling(moment);
      boolean changes = !moment.prescribed().isEmpty() || !moment.proposed().isEmpty();
      boolean turns = TURNS.contains(moment.verdict()) && !moment.verdict().equals(verdict);
      if (changes || turns || !fresh.isEmpty() || !said.containsAll(telling)) {
        told.add(moment.helpedBy(moment.wouldHelp().stream().filter(helping::add).toList()));
      }
      if (changes) {
        said.clear();
      }
      said.addAll(telling);
      verdict = moment.verdict();
      date = moment.date();
    }
    return told;
  }

  /** What was sent of a person, by its name in each version that the sending made. */
  private static void sent(String person, Map<String, Resource> known) {
    List<Resource> sent = new ArrayList<>();
    Diaries.enrolment(person).getEntry().forEach(entry -> sent.add(entry.getResource()));
    Diaries.diary(person).forEach(page -> sent.add(page.resource()));
    Map<String, Integer> versions = new HashMap<>();
    for (Resource resource : sent) {
      String name = name(resource);
      int version = versions.merge(name, 1, Integer::sum);
      known.put(name, resource);
      known.put(name + "/_history/" + version, resource);
    }
  }

  private List<GuidanceResponse> inOrder(String patient) {
    return client.list(GuidanceResponse.class, patient).stream()
        .sorted(
            Comparator.comparing(
                (GuidanceResponse guidance) -> guidance.getMeta().getLastUpdated()))
        .toList();
  }

  /** A session that has had no time to be answered has not missed its contact. */
  private static Set<String> telling(Moment moment) {
    Set<String> telling = new HashSet<>(moment.reasons());
    telling.retainAll(TELLING);
    if (moment.reasons().contains("evidence-thin")) {
      telling.remove(CONTACT_NOT_REACHED);
    }
    return telling;
  }

  private Provenance trail(GuidanceResponse guidance) {
    Provenance trail = trails.get(guidance.getIdElement().getIdPart());
    if (trail == null) {
      throw new IllegalStateException("no trail leads to " + guidance.getId());
    }
    return trail;
  }

  /** The versions of limits that a decision is the first to rest on. */
  private static List<String> freshLimits(Provenance trail, Set<String> before) {
    return trail.getEntity().stream()
        .map(entity -> entity.getWhat().getReference())
        .filter(reference -> reference.startsWith("Flag/"))
        .filter(before::add)
        .toList();
  }

  private static List<String> reports(List<String> references, Map<String, Resource> known) {
    return references.stream()
        .filter(known::containsKey)
        .map(reference -> Words.report(known.get(reference)))
        .toList();
  }

  private static Moment moment(
      GuidanceResponse guidance, Provenance trail, Map<String, Resource> known) {
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
        proposed,
        wouldHelp(guidance));
  }

  private static List<String> wouldHelp(GuidanceResponse guidance) {
    return guidance.getExtensionsByUrl(Codes.structure("considered")).stream()
        .filter(considered -> considered.hasExtension("missing"))
        .map(
            considered ->
                considered.getExtensionByUrl("missing").getValue().primitiveValue()
                    + ", for "
                    + considered.getExtensionByUrl("change").getValue().primitiveValue())
        .toList();
  }

  /** The first record that a decision rests on is the one that it followed. */
  private static String cameIn(Provenance trail, Map<String, Resource> known) {
    IdType newest = new IdType(trail.getEntityFirstRep().getWhat().getReference());
    String name = newest.getResourceType() + "/" + newest.getIdPart();
    return Words.report(known.getOrDefault(newest.getValue(), known.get(name)));
  }

  private static Stream<IdType> targets(Provenance trail) {
    return trail.getTarget().stream().map(Reference::getReference).map(IdType::new);
  }

  private static String name(Resource resource) {
    return resource.fhirType() + "/" + resource.getIdElement().getIdPart();
  }
}
