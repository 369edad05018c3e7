package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.HashSet;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.OptionalLong;
import java.util.Set;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CarePlan.CarePlanStatus;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Condition;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Observation.ObservationStatus;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.References;
import org.tidemark.fhir.SummaryWriter;
import org.tidemark.store.ResourceStore;

/** Summaries of people: how each stands, for whoever treats them elsewhere. */
@ApplicationScoped
public class Summaries {
  private static final String PATIENT = "Patient";

  private static final List<String> TOLD =
      List.of(PATIENT, "Condition", "Flag", "Observation", "CarePlan", "Goal", "ServiceRequest");

  private static final Set<CarePlanStatus> OPEN =
      Set.of(CarePlanStatus.DRAFT, CarePlanStatus.ACTIVE, CarePlanStatus.ONHOLD);

  private static final Set<ObservationStatus> VALID =
      Set.of(
          ObservationStatus.FINAL,
          ObservationStatus.AMENDED,
          ObservationStatus.CORRECTED,
          ObservationStatus.PRELIMINARY);

  /** Of so many the newest of each kind are told. */
  private static final int MOST_OBSERVATIONS = 500;

  private static final List<String> AUTHORS =
      List.of("Organization/" + Issuing.ORGANISATION, "Device/" + Issuing.ENGINE);

  private final Records records;
  private final References references;
  private final Languages languages;
  private final ClinicClock clock;
  private final Guard guard;

  Summaries(
      Records records, References references, Languages languages, ClinicClock clock, Guard guard) {
    this.records = records;
    this.references = references;
    this.languages = languages;
    this.clock = clock;
    this.guard = guard;
  }

  /**
   * How a person stands, as a document: problems, limits, open plans with their goals and
   * prescriptions in force, and the newest Observation of each kind.
   *
   * @param id the id of the Patient
   * @throws org.tidemark.fhir.Problem when there is no such person within reach, or the caller may
   *     not read all that is told
   */
  public Bundle summary(String id) {
    records
        .kept(PATIENT, id, OptionalLong.empty())
        .orElseThrow(() -> records.absent(Address.of(PATIENT, id)));
    String person = PATIENT + "/" + id;
    TOLD.forEach(type -> guard.requireAllAbout(person, type));
    return SummaryWriter.document(
        languages.texts(),
        person,
        AUTHORS,
        told(person),
        references.base(),
        ResourceStore.newId(),
        clock.now());
  }

  /** Each once, in their order: two plans may share a goal. */
  private List<Resource> told(String person) {
    Map<String, Resource> told = new LinkedHashMap<>();
    all(person).forEach(one -> told.putIfAbsent(one.fhirType() + "/" + one.getIdPart(), one));
    return List.copyOf(told.values());
  }

  private List<Resource> all(String person) {
    List<Resource> told = new ArrayList<>();
    Stream.concat(Stream.of(person), AUTHORS.stream())
        .flatMap(one -> records.find(new Reference(one)).stream())
        .forEach(told::add);
    about(person, "Condition")
        .map(Condition.class::cast)
        .filter(Summaries::isMeant)
        .forEach(told::add);
    about(person, "Flag")
        .filter(flag -> ((Flag) flag).getStatus() == Flag.FlagStatus.ACTIVE)
        .forEach(told::add);
    for (Resource plan : about(person, "CarePlan").toList()) {
      CarePlan open = (CarePlan) plan;
      if (OPEN.contains(open.getStatus())) {
        told.add(open);
        Stream.concat(
                open.getGoal().stream(),
                open.getActivity().stream().map(activity -> activity.getReference()))
            .filter(Reference::hasReference)
            .flatMap(part -> records.find(part).stream())
            .filter(part -> TOLD.contains(part.fhirType()))
            .forEach(told::add);
      }
    }
    told.addAll(newest(person));
    return told;
  }

  private static boolean isMeant(Condition condition) {
    return !condition
        .getVerificationStatus()
        .hasCoding(
            "http://terminology.hl7.org/CodeSystem/condition-ver-status", "entered-in-error");
  }

  private Stream<Resource> about(String person, String type) {
    return records.listBySubject(type, person, Set.of()).stream();
  }

  /** The newest Observation of each code and side. */
  private List<Observation> newest(String person) {
    Set<String> seen = new HashSet<>();
    return records.newest(Observation.class, Map.of("subject", person), MOST_OBSERVATIONS).stream()
        .filter(observation -> VALID.contains(observation.getStatus()))
        .filter(
            observation ->
                seen.add(codes(observation.getCode()) + codes(observation.getBodySite())))
        .toList();
  }

  private static String codes(CodeableConcept concept) {
    return concept.getCoding().stream()
        .map(coding -> coding.getSystem() + "|" + coding.getCode())
        .sorted()
        .collect(Collectors.joining(",", concept.hasText() ? concept.getText() : "", ";"));
  }
}
