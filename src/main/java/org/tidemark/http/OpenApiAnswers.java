package org.tidemark.http;

import ca.uhn.fhir.interceptor.api.Hook;
import ca.uhn.fhir.interceptor.api.Interceptor;
import ca.uhn.fhir.interceptor.api.Pointcut;
import ca.uhn.fhir.rest.api.RequestTypeEnum;
import ca.uhn.fhir.rest.server.RestfulServer;
import ca.uhn.fhir.rest.server.method.OperationMethodBinding;
import ca.uhn.fhir.rest.server.servlet.ServletRequestDetails;
import com.fasterxml.jackson.databind.ObjectMapper;
import io.swagger.v3.core.util.Json;
import io.swagger.v3.core.util.Yaml;
import io.swagger.v3.oas.models.OpenAPI;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.util.List;
import java.util.Optional;
import java.util.function.Supplier;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CapabilityStatement;
import org.hl7.fhir.r4.model.CapabilityStatement.CapabilityStatementRestResourceComponent;
import org.hl7.fhir.r4.model.CapabilityStatement.CapabilityStatementRestResourceOperationComponent;
import org.hl7.fhir.r4.model.OperationDefinition;
import org.tidemark.application.Records;
import org.tidemark.fhir.Codes;

/**
 * The endpoint as an OpenAPI document, {@code openapi.json} and {@code openapi.yaml} beside {@code
 * metadata}. It is made of the CapabilityStatement at each request, so that the two cannot differ.
 */
@Interceptor
public final class OpenApiAnswers {
  private static final String DEFINITION = "OperationDefinition";

  private final RestfulServer server;
  private final Records records;
  private final Supplier<String> base;

  /**
   * @param server the server that is described
   * @param records where our OperationDefinitions are
   * @param base where the server is reached by the clinic that is acted for
   */
  OpenApiAnswers(RestfulServer server, Records records, Supplier<String> base) {
    this.server = server;
    this.records = records;
    this.base = base;
  }

  /** Sends the document, or leaves another request to HAPI by returning true. */
  @Hook(Pointcut.SERVER_INCOMING_REQUEST_PRE_HANDLER_SELECTED)
  public boolean answer(ServletRequestDetails request, HttpServletResponse response)
      throws IOException {
    if (request.getRequestType() != RequestTypeEnum.GET) {
      return true;
    }
    return switch (request.getRequestPath()) {
      case "openapi.json" -> send(request, response, "application/json", Json.mapper());
      case "openapi.yaml" -> send(request, response, "application/yaml", Yaml.mapper());
      default -> true;
    };
  }

  private boolean send(
      ServletRequestDetails request, HttpServletResponse response, String format, ObjectMapper form)
      throws IOException {
    String text = form.writeValueAsString(document(request));
    response.setContentType(format);
    response.setCharacterEncoding("UTF-8");
    response.getWriter().write(text);
    return false;
  }

  private OpenAPI document(ServletRequestDetails request) {
    CapabilityStatement statement = (CapabilityStatement) server.getCapabilityStatement(request);
    List<OpenApiOperation> operations =
        Stream.concat(
                statement.getRestFirstRep().getOperation().stream().map(this::ofSystem),
                statement.getRestFirstRep().getResource().stream()
                    .flatMap(
                        resource ->
                            resource.getOperation().stream()
                                .map(operation -> offered(resource, operation))))
            .toList();
    return new OpenApiDocument(statement, operations, base.get()).build();
  }

  private OpenApiOperation ofSystem(CapabilityStatementRestResourceOperationComponent operation) {
    boolean changesNothing =
        server.getServerBindings().stream()
            .filter(OperationMethodBinding.class::isInstance)
            .map(OperationMethodBinding.class::cast)
            .filter(method -> method.getName().equals("$" + operation.getName()))
            .anyMatch(OperationMethodBinding::isIdempotent);
    return new OpenApiOperation(
        "",
        operation.getName(),
        true,
        false,
        changesNothing,
        operation.getDefinition(),
        published(operation.getDefinition()));
  }

  private OpenApiOperation offered(
      CapabilityStatementRestResourceComponent resource,
      CapabilityStatementRestResourceOperationComponent operation) {
    OperationMethodBinding method = method(resource.getType(), "$" + operation.getName());
    return new OpenApiOperation(
        resource.getType(),
        operation.getName(),
        method.isCanOperateAtTypeLevel(),
        method.isCanOperateAtInstanceLevel(),
        method.isIdempotent(),
        operation.getDefinition(),
        published(operation.getDefinition()));
  }

  private OperationMethodBinding method(String type, String name) {
    return server.getResourceBindings().stream()
        .filter(binding -> type.equals(binding.getResourceName()))
        .flatMap(binding -> binding.getMethodBindings().stream())
        .filter(OperationMethodBinding.class::isInstance)
        .map(OperationMethodBinding.class::cast)
        .filter(method -> method.getName().equals(name))
        .findFirst()
        .orElseThrow(() -> new IllegalStateException(type + "/" + name + " has no method"));
  }

  private Optional<OperationDefinition> published(String url) {
    String ours = Codes.BASE + "/" + DEFINITION + "/";
    return url.startsWith(ours)
        ? records.find(OperationDefinition.class, url.substring(ours.length()))
        : Optional.empty();
  }
}
