package org.tidemark.http;

import io.swagger.v3.oas.models.Components;
import io.swagger.v3.oas.models.ExternalDocumentation;
import io.swagger.v3.oas.models.OpenAPI;
import io.swagger.v3.oas.models.Operation;
import io.swagger.v3.oas.models.PathItem;
import io.swagger.v3.oas.models.PathItem.HttpMethod;
import io.swagger.v3.oas.models.info.Info;
import io.swagger.v3.oas.models.media.ArraySchema;
import io.swagger.v3.oas.models.media.Content;
import io.swagger.v3.oas.models.media.IntegerSchema;
import io.swagger.v3.oas.models.media.MediaType;
import io.swagger.v3.oas.models.media.ObjectSchema;
import io.swagger.v3.oas.models.media.Schema;
import io.swagger.v3.oas.models.media.StringSchema;
import io.swagger.v3.oas.models.parameters.HeaderParameter;
import io.swagger.v3.oas.models.parameters.Parameter;
import io.swagger.v3.oas.models.parameters.PathParameter;
import io.swagger.v3.oas.models.parameters.QueryParameter;
import io.swagger.v3.oas.models.parameters.RequestBody;
import io.swagger.v3.oas.models.responses.ApiResponse;
import io.swagger.v3.oas.models.responses.ApiResponses;
import io.swagger.v3.oas.models.servers.Server;
import io.swagger.v3.oas.models.tags.Tag;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.Set;
import java.util.TreeSet;
import org.hl7.fhir.r4.model.CapabilityStatement;
import org.hl7.fhir.r4.model.CapabilityStatement.CapabilityStatementRestResourceComponent;
import org.hl7.fhir.r4.model.CapabilityStatement.CapabilityStatementRestResourceSearchParamComponent;
import org.hl7.fhir.r4.model.CapabilityStatement.ConditionalDeleteStatus;
import org.hl7.fhir.r4.model.CapabilityStatement.SystemRestfulInteraction;
import org.hl7.fhir.r4.model.CapabilityStatement.TypeRestfulInteraction;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.StringType;
import org.tidemark.fhir.Patches;

/**
 * What a CapabilityStatement declares, as OpenAPI 3.0: a path for each address of R4's <a
 * href="http://hl7.org/fhir/R4/http.html">RESTful API</a> with the methods that are declared, and
 * nothing else. The contents of resources are left to R4's definitions, to which each schema
 * points.
 */
final class OpenApiDocument {
  private static final String R4 = "http://hl7.org/fhir/R4/";
  private static final String SYSTEM = "System";
  private static final String RECORD = "/{id}";
  private static final String HISTORY = "/_history";

  private final CapabilityStatement statement;
  private final List<OpenApiOperation> operations;
  private final OpenAPI document = new OpenAPI();
  private final Set<String> types = new TreeSet<>(Set.of("Bundle", "OperationOutcome"));

  /**
   * @param statement what the server declares
   * @param operations the operations that the statement names
   * @param base where the server is reached
   */
  OpenApiDocument(CapabilityStatement statement, List<OpenApiOperation> operations, String base) {
    this.statement = statement;
    this.operations = operations;
    document
        .openapi("3.0.3")
        .info(
            new Info()
                .title(statement.getSoftware().getName())
                .version(statement.getSoftware().getVersion())
                .description(
                    "FHIR R4. The same as the CapabilityStatement declares, see /metadata. "
                        + statement.getRestFirstRep().getDocumentation()))
        .servers(List.of(new Server().url(base)));
  }

  OpenAPI build() {
    system();
    statement.getRestFirstRep().getResource().forEach(this::type);
    operations.forEach(this::operation);
    Components components = new Components();
    types.forEach(type -> components.addSchemas(type, resource(type)));
    return document.components(components);
  }

  private void system() {
    document.addTagsItem(new Tag().name(SYSTEM).description("The whole server"));
    add("/metadata", HttpMethod.GET, SYSTEM, "capabilities", "What the server offers")
        .responses(answers("200", "CapabilityStatement"));
    statement
        .getRestFirstRep()
        .getInteraction()
        .forEach(interaction -> system(interaction.getCode()));
  }

  private void system(SystemRestfulInteraction interaction) {
    switch (interaction) {
      // One address for both.
      case TRANSACTION, BATCH ->
          add("/", HttpMethod.POST, SYSTEM, "bundle", "Carry out a transaction or batch")
              .requestBody(body("Bundle"))
              .responses(answers("200", "Bundle"));
      case HISTORYSYSTEM ->
          past(add(HISTORY, HttpMethod.GET, SYSTEM, "history", "The history of all records"));
      default ->
          throw new IllegalStateException(interaction + " has no place in the OpenAPI document");
    }
  }

  private void type(CapabilityStatementRestResourceComponent resource) {
    document.addTagsItem(
        new Tag().name(resource.getType()).externalDocs(definition(resource.getType())));
    resource.getInteraction().forEach(interaction -> add(resource, interaction.getCode()));
    String type = resource.getType();
    if (resource.getConditionalUpdate()) {
      conditional(resource, HttpMethod.PUT, "conditionalUpdate", "Update the one that matches")
          .addParametersItem(ifMatch())
          .requestBody(body(type))
          .responses(answers("200", type).addApiResponse("201", answer("Created", type)));
    }
    if (resource.getConditionalDelete() == ConditionalDeleteStatus.SINGLE) {
      conditional(resource, HttpMethod.DELETE, "conditionalDelete", "Delete the one that matches")
          .addParametersItem(ifMatch())
          .responses(deleted());
    }
  }

  private void add(
      CapabilityStatementRestResourceComponent resource, TypeRestfulInteraction interaction) {
    String type = resource.getType();
    String all = "/" + type;
    String one = all + RECORD;
    switch (interaction) {
      case READ ->
          add(one, HttpMethod.GET, type, "read", "Read the current version")
              .responses(answers("200", type));
      case VREAD ->
          add(one + HISTORY + "/{version}", HttpMethod.GET, type, "vread", "Read a version")
              .responses(answers("200", type));
      case UPDATE ->
          add(one, HttpMethod.PUT, type, "update", "Update, or create under this id")
              .addParametersItem(ifMatch())
              .requestBody(body(type))
              .responses(answers("200", type).addApiResponse("201", answer("Created", type)));
      case PATCH ->
          add(one, HttpMethod.PATCH, type, "patch", "Change by JSON Patch or FHIRPath Patch")
              .addParametersItem(ifMatch())
              .requestBody(patch())
              .responses(answers("200", type));
      case DELETE ->
          add(one, HttpMethod.DELETE, type, "delete", "Delete while nothing rests on it")
              .addParametersItem(ifMatch())
              .responses(deleted());
      case HISTORYINSTANCE ->
          past(add(one + HISTORY, HttpMethod.GET, type, "history", "The history of one"));
      case HISTORYTYPE ->
          past(add(all + HISTORY, HttpMethod.GET, type, "historyOfAll", "The history of all"));
      case CREATE -> create(resource);
      case SEARCHTYPE -> search(resource);
      default ->
          throw new IllegalStateException(interaction + " has no place in the OpenAPI document");
    }
  }

  private void create(CapabilityStatementRestResourceComponent resource) {
    String type = resource.getType();
    Operation create = add("/" + type, HttpMethod.POST, type, "create", "Create");
    ApiResponses answers = answers("201", type);
    if (resource.getConditionalCreate()) {
      create.addParametersItem(
          new HeaderParameter()
              .name("If-None-Exist")
              .description(
                  "Create only if no record matches this search, as identifier=system|value.")
              .schema(new StringSchema()));
      answers.addApiResponse("200", answer("It was there already", type));
    }
    create.requestBody(body(type)).responses(answers);
  }

  private void search(CapabilityStatementRestResourceComponent resource) {
    String type = resource.getType();
    Operation inAddress = add("/" + type, HttpMethod.GET, type, "search", "Search");
    ObjectSchema form = new ObjectSchema();
    for (Parameter parameter : searchedBy(resource)) {
      inAddress.addParametersItem(parameter);
      form.addProperty(
          parameter.getName(), parameter.getSchema().description(parameter.getDescription()));
    }
    inAddress.responses(answers("200", "Bundle"));
    add("/" + type + "/_search", HttpMethod.POST, type, "searchByForm", "Search by a form")
        .requestBody(
            new RequestBody()
                .content(
                    new Content()
                        .addMediaType(
                            "application/x-www-form-urlencoded", new MediaType().schema(form))))
        .responses(answers("200", "Bundle"));
  }

  private static List<Parameter> searchedBy(CapabilityStatementRestResourceComponent resource) {
    List<Parameter> parameters = new ArrayList<>();
    resource.getSearchParam().forEach(parameter -> parameters.add(searched(parameter)));
    parameters.add(count());
    parameters.add(
        query("_sort", "Names of parameters, separated by commas; - before a name for downwards."));
    links("_include", "Records that are referred to.", resource.getSearchInclude())
        .ifPresent(parameters::add);
    links("_revinclude", "Records that refer to these.", resource.getSearchRevInclude())
        .ifPresent(parameters::add);
    return parameters;
  }

  /** Given several times, all must hold; values with commas between are alternatives. */
  private static Parameter searched(CapabilityStatementRestResourceSearchParamComponent parameter) {
    return several(
        parameter.getName(),
        parameter.getDocumentation() + " A " + parameter.getType().toCode() + ".",
        new StringSchema());
  }

  private static Optional<Parameter> links(
      String name, String description, List<StringType> offered) {
    StringSchema link = new StringSchema();
    offered.forEach(one -> link.addEnumItem(one.getValue()));
    return offered.isEmpty() ? Optional.empty() : Optional.of(several(name, description, link));
  }

  private static Parameter several(String name, String description, StringSchema value) {
    return new QueryParameter()
        .name(name)
        .description(description)
        .style(Parameter.StyleEnum.FORM)
        .explode(true)
        .schema(new ArraySchema().items(value));
  }

  /** Under a condition everything but the form of the answer may be asked. */
  private Operation conditional(
      CapabilityStatementRestResourceComponent resource,
      HttpMethod method,
      String name,
      String summary) {
    String type = resource.getType();
    Operation operation =
        add("/" + type, method, type, name, summary)
            .description("At least one parameter is needed.");
    resource.getSearchParam().stream()
        .filter(
            parameter -> !parameter.getName().startsWith("_") || parameter.getName().equals("_id"))
        .forEach(parameter -> operation.addParametersItem(searched(parameter)));
    return operation;
  }

  private void operation(OpenApiOperation operation) {
    if (operation.onType()) {
      call(operation, "", HttpMethod.POST)
          .requestBody(sent(operation).required(!operation.isAskedForOnType()));
      if (operation.isAskedForOnType()) {
        Operation get = call(operation, "", HttpMethod.GET);
        operation.inAddress().forEach(get::addParametersItem);
      }
    }
    if (operation.onRecord()) {
      call(operation, RECORD, HttpMethod.POST).requestBody(sent(operation));
      if (operation.changesNothing()) {
        Operation get = call(operation, RECORD, HttpMethod.GET);
        operation.inAddress().forEach(get::addParametersItem);
      }
    }
  }

  private RequestBody sent(OpenApiOperation operation) {
    return new RequestBody().content(content(operation.takes()));
  }

  private Operation call(OpenApiOperation operation, String on, HttpMethod method) {
    boolean ofSystem = operation.type().isEmpty();
    return add(
            (ofSystem ? "" : "/" + operation.type()) + on + "/$" + operation.name(),
            method,
            ofSystem ? SYSTEM : operation.type(),
            operation.name()
                + (on.isEmpty() ? "" : "Of")
                + (method == HttpMethod.GET ? "ByGet" : ""),
            "$" + operation.name())
        .description(operation.description())
        .responses(answers(operation.isAsynchronous() ? "202" : "200", operation.answers()));
  }

  private static void named(PathItem item, String path) {
    if (path.contains("{id}")) {
      item.addParametersItem(
          new PathParameter()
              .name("id")
              .schema(new StringSchema().pattern("[A-Za-z0-9\\-\\.]{1,64}")));
    }
    if (path.contains("{version}")) {
      item.addParametersItem(
          new PathParameter().name("version").schema(new StringSchema().pattern("\\d{1,18}")));
    }
  }

  private Operation add(String path, HttpMethod method, String tag, String name, String summary) {
    if (document.getPaths() == null || !document.getPaths().containsKey(path)) {
      PathItem item = new PathItem();
      named(item, path);
      document.path(path, item);
    }
    Operation operation =
        new Operation().addTagsItem(tag).operationId(name.replace("-", "_") + tag).summary(summary);
    document.getPaths().get(path).operation(method, operation);
    return operation;
  }

  private void past(Operation history) {
    history
        .addParametersItem(count())
        .addParametersItem(query("_since", "Only versions from this moment on."))
        .addParametersItem(query("_at", "Only versions that were current within this time."))
        .responses(answers("200", "Bundle"));
  }

  private static Parameter count() {
    return new QueryParameter()
        .name("_count")
        .description("How many to a page.")
        .schema(new IntegerSchema());
  }

  private static Parameter query(String name, String description) {
    return new QueryParameter().name(name).description(description).schema(new StringSchema());
  }

  private static Parameter ifMatch() {
    return new HeaderParameter()
        .name("If-Match")
        .description("Only if this is the current version, as W/\"3\".")
        .schema(new StringSchema());
  }

  private RequestBody body(String type) {
    return new RequestBody().required(true).content(content(type));
  }

  private RequestBody patch() {
    Content patch = new Content();
    for (CodeType format : statement.getPatchFormat()) {
      Schema<?> schema =
          format.getValue().equals(Patches.JSON_PATCH)
              ? new ArraySchema().items(new ObjectSchema())
              : oneOf(List.of("Parameters"));
      patch.addMediaType(format.getValue(), new MediaType().schema(schema));
    }
    return new RequestBody().required(true).content(patch);
  }

  private ApiResponses answers(String status, String type) {
    return refusable().addApiResponse(status, answer("Done", type));
  }

  private ApiResponses deleted() {
    return refusable().addApiResponse("204", new ApiResponse().description("Deleted"));
  }

  private ApiResponses refusable() {
    return new ApiResponses()
        .addApiResponse(
            ApiResponses.DEFAULT, answer("Refused, with the element at fault", "OperationOutcome"));
  }

  private ApiResponse answer(String description, String type) {
    return new ApiResponse().description(description).content(content(type));
  }

  private Content content(String type) {
    return content(List.of(type));
  }

  private Content content(List<String> oneOf) {
    types.addAll(oneOf);
    Content content = new Content();
    for (CodeType format : statement.getFormat()) {
      content.addMediaType(format.getValue(), new MediaType().schema(oneOf(oneOf)));
    }
    return content;
  }

  private static Schema<?> oneOf(List<String> types) {
    if (types.size() == 1) {
      return new Schema<>().$ref("#/components/schemas/" + types.get(0));
    }
    Schema<?> oneOf = new Schema<>();
    types.forEach(type -> oneOf.addOneOfItem(oneOf(List.of(type))));
    return oneOf;
  }

  private static Schema<?> resource(String type) {
    return new ObjectSchema()
        .addProperty("resourceType", new StringSchema()._enum(List.of(type)))
        .addProperty("id", new StringSchema())
        .addRequiredItem("resourceType")
        .additionalProperties(true)
        .externalDocs(definition(type));
  }

  private static ExternalDocumentation definition(String type) {
    return new ExternalDocumentation().url(R4 + type.toLowerCase(Locale.ROOT) + ".html");
  }
}
