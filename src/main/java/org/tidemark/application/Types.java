package org.tidemark.application;

import java.util.List;
import java.util.Set;
import java.util.TreeSet;
import java.util.stream.Stream;
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
          "Group",
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
          "QuestionnaireResponse",
          "Subscription");

  /** Clients may read and search these: what our own canonicals point to. */
  public static final List<String> PUBLISHED =
      List.of("CodeSystem", "ValueSet", "StructureDefinition", "OperationDefinition");

  /** Clients may read and search these: the papers that the service writes about plans. */
  public static final List<String> PAPERS = List.of("DocumentReference", "Binary");

  /**
   * Clients may delete these while nothing rests on them. Plans, prescriptions, definitions and the
   * trail stay: they end by their status.
   */
  public static final Set<String> DELETABLE =
      Set.of(
          "Patient",
          "Practitioner",
          "PractitionerRole",
          "Organization",
          "Device",
          "Group",
          "Condition",
          "Goal",
          "Observation",
          "Flag",
          "QuestionnaireResponse",
          "Subscription");

  /** Clients may read and search the audit trail, which lies apart from the records. */
  public static final String AUDIT = "AuditEvent";

  private Types() {}

  /** Requires that records of the type can be deleted. */
  static void requireDeletable(String type) {
    if (!DELETABLE.contains(type)) {
      throw Problem.of(
          Problem.Kind.NOT_ALLOWED,
          "A "
              + type
              + " is not deleted here; it ends by its status. Deleted can be: "
              + String.join(", ", new TreeSet<>(DELETABLE))
              + ".");
    }
  }

  /** Whether clients can read the type. */
  public static boolean isServed(String type) {
    return WRITTEN.contains(type) || isOnlyRead(type);
  }

  /** Whether clients can read the type but not write it. */
  public static boolean isOnlyRead(String type) {
    return PUBLISHED.contains(type) || PAPERS.contains(type);
  }

  /** Every type that clients can read. */
  public static Stream<String> served() {
    return Stream.of(WRITTEN, PUBLISHED, PAPERS).flatMap(List::stream);
  }

  /** Requires that clients can read the type. */
  static void requireServed(String type) {
    if (!isServed(type)) {
      throw Problem.of(Problem.Kind.NOT_FOUND, "The type '" + type + "' is not served here.");
    }
  }

  /** Requires that clients can write the type. */
  static void requireWritten(String type) {
    requireServed(type);
    if (!WRITTEN.contains(type)) {
      throw Problem.of(Problem.Kind.UNSUPPORTED, "A " + type + " can only be read here.");
    }
  }

  /** Requires that an entry brings its patch. */
  static Resource requirePatch(Resource patch) {
    if (patch == null) {
      throw Problem.of(Problem.Kind.MISSING, "The entry has no resource with the patch.");
    }
    return patch;
  }

  /** Requires a resource of the type that the address names, and that clients can write it. */
  static Resource require(Resource resource, EntryUrl url) {
    if (resource == null) {
      throw Problem.of(Problem.Kind.MISSING, "The entry has no resource.");
    }
    requireWritten(url.type());
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
