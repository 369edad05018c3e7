package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.Comparator;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Patient.PatientCommunicationComponent;
import org.tidemark.clinic.Clinics;
import org.tidemark.fhir.PlanIdentity;
import org.tidemark.fhir.Texts;

/** In which language what is written for people. */
@ApplicationScoped
public class Languages {
  private static final String PATIENT = "Patient/";

  private final Records records;
  private final Programmes programmes;
  private final Clinics clinics;

  Languages(Records records, Programmes programmes, Clinics clinics) {
    this.records = records;
    this.programmes = programmes;
    this.clinics = clinics;
  }

  private Locale clinic() {
    return clinics.acting().language();
  }

  /** The language of the clinic, for what only clinicians read. */
  Texts texts() {
    return Texts.of(clinic());
  }

  /** A plan in the language of the person: what they prefer of {@code Patient.communication}. */
  PlanIdentity forPerson(RunningPlan plan) {
    return in(ofPerson(plan.subject()), plan);
  }

  /** A plan in the language of the clinic. */
  PlanIdentity forClinic(RunningPlan plan) {
    return in(clinic(), plan);
  }

  /** A plan in a language. */
  PlanIdentity in(Locale language, RunningPlan plan) {
    return new PlanIdentity(
        plan.id(),
        plan.subject(),
        plan.side(),
        programmes.in(language, plan.programme()),
        "Device/" + Issuing.ENGINE,
        "Organization/" + Issuing.ORGANISATION,
        language);
  }

  /** The first language of some that there are texts in; the clinic's when there is none. */
  public Locale firstOf(List<Locale> wanted) {
    return Texts.firstSpoken(wanted).orElseGet(this::clinic);
  }

  private Locale ofPerson(String subject) {
    return subject.startsWith(PATIENT)
        ? records
            .find(Patient.class, subject.substring(PATIENT.length()))
            .map(patient -> firstOf(spoken(patient)))
            .orElseGet(this::clinic)
        : clinic();
  }

  private static List<Locale> spoken(Patient patient) {
    return patient.getCommunication().stream()
        .sorted(Comparator.comparing(PatientCommunicationComponent::getPreferred).reversed())
        .flatMap(communication -> communication.getLanguage().getCoding().stream())
        .map(Coding::getCode)
        .flatMap(code -> Optional.ofNullable(code).stream())
        .map(Locale::forLanguageTag)
        .toList();
  }
}
