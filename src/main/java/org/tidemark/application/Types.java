package org.tidemark.application;

import java.util.List;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.Problem;

/** The types of records that the service keeps. */
public final class Types {
  /** Clients may read, search, create and update these. */
  public static final List<String> WRITTEN =
      List.of(
          "Patient",
          "Practitioner",
          "PractitionerRole",
          "Organization",
          "Device",
          "Condition",
          "PlanDefinition",
          "ActivityDefinition",
          "CarePlan",
          "Goal",
          "ServiceRequest",
          "Observation",
          "Flag",
          "Task",
          "Provenance",
          "GuidanceResponse",
          "DetectedIssue",
          "RiskAssessment",
          "Questionnaire",
          "QuestionnaireResponse");

  /** Clients may read and search these: what our own canonicals point to. */
  public static final List<String> PUBLISHED =
      List.of("CodeSystem", "ValueSet", "StructureDefinition");

  private Types() {}

  /** Requires that clients can read the type. */
  static void requireServed(String type) {
    if (!WRITTEN.contains(type) && !PUBLISHED.contains(type)) {
      throw Problem.of(Problem.Kind.NOT_FOUND, "The type '" + type + "' is not served here.");
    }
  }

  /** Requires a resource of the type that the address names, and that clients can write it. */
  static Resource require(Resource resource, EntryUrl url) {
    if (resource == null) {
      throw Problem.of(Problem.Kind.MISSING, "The entry has no resource.");
    }
    requireServed(url.type());
    if (!WRITTEN.contains(url.type())) {
      throw Problem.of(Problem.Kind.UNSUPPORTED, "A " + url.type() + " can only be read here.");
    }
    if (!resource.fhirType().equals(url.type())) {
      throw Problem.of(
          Problem.Kind.MISMATCH,
          "The resource is of the type %s, the address says %s."
              .formatted(resource.fhirType(), url.type()),
          resource.fhirType());
    }
    return resource;
  }

  /** Requires that the resource carries the id that the address names. */
  static void requireId(Resource resource, String id) {
    if (!id.equals(resource.getIdPart())) {
      throw Problem.of(
          Problem.Kind.MISMATCH,
          "The id of the resource is not the one in the address.",
          resource.fhirType() + ".id");
    }
  }
}
