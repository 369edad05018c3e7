package org.tidemark.http;

import ca.uhn.fhir.interceptor.api.Hook;
import ca.uhn.fhir.interceptor.api.Interceptor;
import ca.uhn.fhir.interceptor.api.Pointcut;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Map;
import java.util.stream.Collectors;
import org.hl7.fhir.instance.model.api.IBaseConformance;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.CapabilityStatement;
import org.hl7.fhir.r4.model.CapabilityStatement.CapabilityStatementRestResourceComponent;
import org.hl7.fhir.r4.model.CapabilityStatement.CapabilityStatementRestResourceOperationComponent;
import org.hl7.fhir.r4.model.CapabilityStatement.CapabilityStatementRestSecurityComponent;
import org.hl7.fhir.r4.model.CapabilityStatement.ConditionalDeleteStatus;
import org.hl7.fhir.r4.model.CapabilityStatement.ReferenceHandlingPolicy;
import org.hl7.fhir.r4.model.CapabilityStatement.ResourceVersionPolicy;
import org.hl7.fhir.r4.model.CapabilityStatement.TypeRestfulInteraction;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Enumerations.SearchParamType;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.UriType;
import org.tidemark.application.Limits;
import org.tidemark.application.Links;
import org.tidemark.application.Types;
import org.tidemark.application.VersionRule;
import org.tidemark.fhir.Codes;
import org.tidemark.fhir.SearchParameters;
import org.tidemark.fhir.Topic;

/**
 * Makes the CapabilityStatement say what is true: HAPI's own publishes includes that do not exist
 * and knows nothing of our search parameters and versions.
 */
@Interceptor
public final class Conformance {
  /** Where the operations are defined, by their names. */
  private static final Map<String, String> OPERATIONS =
      Map.ofEntries(
          Map.entry("validate", "http://hl7.org/fhir/OperationDefinition/Resource-validate"),
          Map.entry("apply", Codes.BASE + "/OperationDefinition/apply-programme"),
          ours("next-prescription"),
          ours("handout"),
          ours("progress-report"),
          ours("handover"),
          ours("close-handover"),
          ours("outcomes"),
          ours("import"),
          ours("import-status"),
          ours("import-cancel"),
          ours("pull-status"),
          ours("write-back"),
          ours("write-back-status"),
          ours("receive-handover"),
          ours("receive-records"),
          ours("undelivered"),
          ours("resend"));

  /** R4's statement has no place for topics; the guide on subscriptions adds one. */
  private static final String TOPIC =
      "http://hl7.org/fhir/uv/subscriptions-backport/StructureDefinition/"
          + "capabilitystatement-subscriptiontopic-canonical";

  private static Map.Entry<String, String> ours(String name) {
    return Map.entry(name, Codes.BASE + "/OperationDefinition/" + name);
  }

  /** The profiles of ours, by the type that they are of; others are known by their name alone. */
  static final Map<String, List<String>> PROFILES =
      Map.ofEntries(
          Map.entry("ActivityDefinition", List.of("exercise-variation")),
          Map.entry("CarePlan", List.of("graded-care-plan")),
          Map.entry("Flag", List.of("exercise-precaution")),
          Map.entry("Goal", List.of("graded-goal")),
          Map.entry(
              "Observation",
              List.of(
                  "baseline-assessment",
                  "home-equipment",
                  "morning-report",
                  "range-measurement",
                  "session-report",
                  "warning-report")),
          Map.entry("PlanDefinition", List.of("graded-programme")),
          Map.entry("RiskAssessment", List.of("range-forecast")),
          Map.entry("ServiceRequest", List.of("graded-prescription")));

  private static final String OAUTH =
      "http://fhir-registry.smarthealthit.org/StructureDefinition/oauth-uris";

  private final SearchParameters parameters;
  private final Links links;
  private final AccessSettings access;
  private final VersionRule versions;
  private final Limits limits;

  Conformance(
      SearchParameters parameters,
      Links links,
      AccessSettings access,
      VersionRule versions,
      Limits limits) {
    this.versions = versions;
    this.limits = limits;
    this.access = access;
    this.parameters = parameters;
    this.links = links;
  }

  /** Corrects the statement that HAPI generated. */
  @Hook(Pointcut.SERVER_CAPABILITY_STATEMENT_GENERATED)
  public void correct(IBaseConformance generated) {
    CapabilityStatement statement = (CapabilityStatement) generated;
    statement.setName("Tidemark").setTitle("Tidemark").setPublisher("Tidemark");
    statement.setFormat(codes("application/fhir+json", "application/fhir+xml"));
    statement.setPatchFormat(
        codes("application/json-patch+json", "application/fhir+json", "application/fhir+xml"));
    statement
        .getRestFirstRep()
        .setDocumentation(limits.told())
        .addInteraction()
        .setCode(CapabilityStatement.SystemRestfulInteraction.BATCH);
    if (access.smart()) {
      secure(statement.getRestFirstRep().getSecurity());
    }
    statement
        .getRestFirstRep()
        .getResource()
        .removeIf(
            resource ->
                Types.served().noneMatch(served -> served.equals(resource.getType()))
                    && !Types.AUDIT.equals(resource.getType()));
    for (CapabilityStatementRestResourceComponent resource :
        statement.getRestFirstRep().getResource()) {
      if (Types.AUDIT.equals(resource.getType())) {
        correctAudit(resource);
      } else {
        correct(resource);
      }
    }
    define(statement.getRestFirstRep().getOperation());
  }

  /** Where tokens are given out, as clients of SMART 1 look for it. */
  private void secure(CapabilityStatementRestSecurityComponent security) {
    security
        .addService()
        .addCoding()
        .setSystem("http://terminology.hl7.org/CodeSystem/restful-security-service")
        .setCode("SMART-on-FHIR");
    Extension places = security.addExtension().setUrl(OAUTH);
    places.addExtension("token", new UriType(access.tokenEndpoint()));
    access
        .authorizationEndpoint()
        .ifPresent(endpoint -> places.addExtension("authorize", new UriType(endpoint)));
  }

  private static List<CodeType> codes(String... codes) {
    return Arrays.stream(codes).map(CodeType::new).collect(Collectors.toList());
  }

  /** The audit trail, which is searched in its own way. */
  private static void correctAudit(CapabilityStatementRestResourceComponent resource) {
    resource
        .setDocumentation(
            "The audit trail in IHE's Basic Audit Log Patterns, the newest first; _sort=date or"
                + " -date. For tokens that may read all of it. Not offered inside Bundles.")
        .setVersioning(ResourceVersionPolicy.NOVERSION)
        .setReadHistory(false)
        .setUpdateCreate(false)
        .setConditionalCreate(false)
        .setConditionalUpdate(false)
        .setConditionalDelete(ConditionalDeleteStatus.NOTSUPPORTED)
        .addReferencePolicy(ReferenceHandlingPolicy.LITERAL);
    resource.setSearchInclude(new ArrayList<>());
    resource.setSearchRevInclude(new ArrayList<>());
    resource.setSearchParam(new ArrayList<>());
    parameter(resource, "_id", SearchParamType.TOKEN, "The number of the event");
    parameter(resource, "_lastUpdated", SearchParamType.DATE, "When it was recorded");
    parameter(resource, "action", SearchParamType.TOKEN, "C, R, U, D or E");
    parameter(
        resource,
        "agent",
        SearchParamType.REFERENCE,
        "The user of the token; as agent:identifier its client, or a user that is no record");
    parameter(resource, "date", SearchParamType.DATE, "When it was recorded");
    parameter(
        resource,
        "entity",
        SearchParamType.REFERENCE,
        "The record, in any version or in one (Type/id/_history/2); a person in either part");
    parameter(resource, "outcome", SearchParamType.TOKEN, "0 (success), 4 (refused) or 8 (failed)");
    parameter(resource, "patient", SearchParamType.REFERENCE, "The person whom it is about");
  }

  private void correct(CapabilityStatementRestResourceComponent resource) {
    String type = resource.getType();
    PROFILES
        .getOrDefault(type, List.of())
        .forEach(profile -> resource.addSupportedProfile(Codes.structure(profile)));
    if (type.equals("Subscription")) {
      Arrays.stream(Topic.values())
          .forEach(topic -> resource.addExtension(TOPIC, new CanonicalType(topic.url())));
    }
    boolean written = Types.WRITTEN.contains(type);
    resource.setSearchInclude(strings(links.forwards(type)));
    resource.setSearchRevInclude(strings(links.backwards(type)));
    resource
        .setVersioning(
            written && versions.isAsked()
                ? ResourceVersionPolicy.VERSIONEDUPDATE
                : ResourceVersionPolicy.VERSIONED)
        .setReadHistory(true)
        .setUpdateCreate(written)
        .setConditionalCreate(written)
        .setConditionalUpdate(written)
        .setConditionalDelete(
            Types.DELETABLE.contains(type)
                ? ConditionalDeleteStatus.SINGLE
                : ConditionalDeleteStatus.NOTSUPPORTED)
        .addReferencePolicy(ReferenceHandlingPolicy.LITERAL);
    if (!Types.DELETABLE.contains(type)) {
      resource
          .getInteraction()
          .removeIf(interaction -> interaction.getCode() == TypeRestfulInteraction.DELETE);
    }
    resource.setSearchParam(new ArrayList<>());
    define(resource.getOperation());
    parameter(resource, "_id", SearchParamType.TOKEN, "The id of the record");
    parameter(resource, "_lastUpdated", SearchParamType.DATE, "When it was last written");
    for (SearchParameters.Parameter parameter : parameters.of(type)) {
      parameter(
          resource,
          parameter.name(),
          SearchParamType.valueOf(parameter.form().name()),
          described(parameter));
    }
  }

  private static void define(List<CapabilityStatementRestResourceOperationComponent> operations) {
    operations.forEach(
        operation ->
            operation.setDefinition(
                OPERATIONS.getOrDefault(operation.getName(), operation.getDefinition())));
  }

  /** R4's statement has no other place for the modifiers. */
  private static String described(SearchParameters.Parameter parameter) {
    return "%s Modifiers: %s.%s"
        .formatted(
            parameter.description(),
            SearchParameters.modifiers(parameter.form()).stream()
                .map(modifier -> ":" + modifier)
                .collect(Collectors.joining(", ")),
            parameter.form().isOrdered() ? " Can be sorted by." : "");
  }

  private static List<StringType> strings(List<String> texts) {
    return texts.stream().map(StringType::new).collect(Collectors.toList());
  }

  private static void parameter(
      CapabilityStatementRestResourceComponent resource,
      String name,
      SearchParamType type,
      String documentation) {
    resource.addSearchParam().setName(name).setType(type).setDocumentation(documentation);
  }
}
