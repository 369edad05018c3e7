package org.tidemark.fhir;

import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import org.hl7.fhir.r4.model.Resource;

/** The sections of a document that hands a plan over, in their order, and what lies in each. */
public enum HandoverSection {
  PLAN("CarePlan", "Goal", "RiskAssessment"),
  PRESCRIPTIONS("ServiceRequest"),
  PERSON("Patient", "Condition", "Flag"),
  REPORTS("Observation", "QuestionnaireResponse"),
  DECISIONS("GuidanceResponse", "Provenance"),
  CLINICIANS("DetectedIssue", "Task"),
  PROGRAMME("PlanDefinition", "ActivityDefinition"),
  PAPERS("DocumentReference", "Binary"),
  AUTHORS("Device", "Organization", "Practitioner", "PractitionerRole");

  private final List<String> types;

  HandoverSection(String... types) {
    this.types = List.of(types);
  }

  /**
   * Where a record lies.
   *
   * @throws IllegalArgumentException when its type belongs to no section
   */
  static HandoverSection of(Resource resource) {
    return Arrays.stream(values())
        .filter(section -> section.types.contains(resource.fhirType()))
        .findFirst()
        .orElseThrow(
            () -> new IllegalArgumentException(resource.fhirType() + " is not handed over"));
  }

  /** Whether records of a type are handed over. */
  public static boolean takes(String type) {
    return Arrays.stream(values()).anyMatch(section -> section.types.contains(type));
  }

  String title(Texts texts) {
    return texts.of("handover.section." + name().toLowerCase(Locale.ROOT));
  }
}
