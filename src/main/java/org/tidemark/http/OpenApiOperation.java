package org.tidemark.http;

import io.swagger.v3.oas.models.media.StringSchema;
import io.swagger.v3.oas.models.parameters.HeaderParameter;
import io.swagger.v3.oas.models.parameters.Parameter;
import io.swagger.v3.oas.models.parameters.QueryParameter;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.OperationDefinition;
import org.hl7.fhir.r4.model.OperationDefinition.OperationDefinitionParameterComponent;
import org.hl7.fhir.r4.model.OperationDefinition.OperationParameterUse;

/**
 * An operation of a type, as it is offered.
 *
 * @param type the type of records; empty for an operation on the whole system
 * @param name without the {@code $}
 * @param onType whether it is called on the type, with what it works on in the body
 * @param onRecord whether it is called on a record
 * @param changesNothing whether it may be called by GET
 * @param url where it is defined
 * @param definition its definition, if it is one of ours
 */
record OpenApiOperation(
    String type,
    String name,
    boolean onType,
    boolean onRecord,
    boolean changesNothing,
    String url,
    Optional<OperationDefinition> definition) {
  /** R4's operation, whose parameters and answer are those of its definition there. */
  private static final String VALIDATE = "validate";

  /** The operation of the guide on bulk data that is answered later. */
  private static final String EXPORT = "export";

  /** What R4's operations take in the address, by their names. */
  private static final Map<String, List<Parameter>> OF_STANDARD =
      Map.of(
          VALIDATE,
          List.of(
              query("mode", "What it is validated for.")
                  .schema(new StringSchema()._enum(List.of("profile", "delete"))),
              query("profile", "A profile that it must fit beside those that it claims.")),
          "everything",
          List.of(
              query("start", "Only care from this date on."),
              query("end", "Only care up to this date."),
              query("_since", "Only what was written after this moment."),
              query("_type", "Only these types, separated by commas."),
              query("_count", "How many records to a page.")),
          EXPORT,
          List.of(
              query("_outputFormat", "application/fhir+ndjson."),
              query("_since", "Only what was written after this moment."),
              query("_type", "Only these types, separated by commas."),
              query("_typeFilter", "Searches that records of their types must meet."),
              new HeaderParameter()
                  .name("Prefer")
                  .required(true)
                  .schema(new StringSchema()._enum(List.of("respond-async")))));

  /** The parameter of ours that is the body itself. */
  private static final String BODY = "resource";

  /** What it does, for a person. */
  String description() {
    return definition.map(OperationDefinition::getDescription).orElse("Defined by the standard")
        + " ("
        + url
        + ").";
  }

  /** The type of resource that it answers. */
  String answers() {
    if (definition.isEmpty()) {
      return Set.of(VALIDATE, EXPORT).contains(name) ? "OperationOutcome" : "Bundle";
    }
    return definition.get().getParameter().stream()
        .filter(parameter -> parameter.getUse() == OperationParameterUse.OUT)
        .filter(parameter -> parameter.getName().equals("return"))
        .map(OperationDefinitionParameterComponent::getType)
        .findFirst()
        .orElse("Parameters");
  }

  /** Whether it is answered with where its answer will be. */
  boolean isAsynchronous() {
    return name.equals(EXPORT);
  }

  /** Whether it may be called by GET where it is called on no record. */
  boolean isAskedForOnType() {
    return changesNothing && isAsynchronous();
  }

  /** The types of resources that it takes in the body. */
  List<String> takes() {
    if (name.equals(VALIDATE)) {
      return List.of("Parameters", type);
    }
    return definition.stream()
        .flatMap(ours -> ours.getParameter().stream())
        .filter(parameter -> parameter.getName().equals(BODY))
        .map(OperationDefinitionParameterComponent::getType)
        .findFirst()
        .map(List::of)
        .orElse(List.of("Parameters"));
  }

  /** What can be asked in the address. */
  List<Parameter> inAddress() {
    if (definition.isEmpty()) {
      return OF_STANDARD.getOrDefault(name, List.of());
    }
    return definition.get().getParameter().stream()
        .filter(parameter -> parameter.getUse() == OperationParameterUse.IN)
        .map(OpenApiOperation::parameter)
        .toList();
  }

  private static Parameter query(String name, String description) {
    return new QueryParameter().name(name).description(description).schema(new StringSchema());
  }

  private static Parameter parameter(OperationDefinitionParameterComponent parameter) {
    return new QueryParameter()
        .name(parameter.getName())
        .description(parameter.getDocumentation())
        .required(parameter.getMin() > 0)
        .schema(new StringSchema());
  }
}
