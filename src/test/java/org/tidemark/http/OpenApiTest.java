package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.restassured.response.Response;
import io.restassured.specification.RequestSpecification;
import io.swagger.v3.oas.models.OpenAPI;
import io.swagger.v3.oas.models.Operation;
import io.swagger.v3.oas.models.PathItem.HttpMethod;
import io.swagger.v3.oas.models.parameters.Parameter;
import io.swagger.v3.parser.OpenAPIV3Parser;
import io.swagger.v3.parser.core.models.SwaggerParseResult;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.TreeSet;
import java.util.UUID;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.CapabilityStatement;
import org.hl7.fhir.r4.model.CapabilityStatement.CapabilityStatementRestComponent;
import org.hl7.fhir.r4.model.CapabilityStatement.CapabilityStatementRestResourceComponent;
import org.hl7.fhir.r4.model.CapabilityStatement.ConditionalDeleteStatus;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.StringType;
import org.junit.jupiter.api.Test;

/** The OpenAPI document, as a parser of OpenAPI reads it, beside the CapabilityStatement. */
@QuarkusTest
class OpenApiTest {
  /** The address and method of each interaction: R4, http.html, section 3.1.0.15 (summary). */
  private static final Map<String, List<String>> OF_INTERACTION =
      Map.of(
          "read", List.of("GET /%s/{id}"),
          "vread", List.of("GET /%s/{id}/_history/{version}"),
          "update", List.of("PUT /%s/{id}"),
          "patch", List.of("PATCH /%s/{id}"),
          "delete", List.of("DELETE /%s/{id}"),
          "history-instance", List.of("GET /%s/{id}/_history"),
          "history-type", List.of("GET /%s/_history"),
          "create", List.of("POST /%s"),
          "search-type", List.of("GET /%s", "POST /%s/_search"));

  private static final Map<String, String> OF_SYSTEM =
      Map.of("transaction", "POST /", "batch", "POST /", "history-system", "GET /_history");

  /** Where each operation is offered: our OperationDefinitions, and R4's and SDC's own. */
  private static final Map<String, List<String>> OF_OPERATION =
      Map.ofEntries(
          Map.entry("apply", List.of("GET /%s/{id}/$apply", "POST /%s/{id}/$apply")),
          onRecord("next-prescription"),
          onRecord("handout"),
          onRecord("progress-report"),
          onRecord("handover"),
          onRecord("everything"),
          onRecord("summary"),
          Map.entry("export", List.of("GET /%s/$export", "POST /%s/$export")),
          Map.entry("group-export", List.of("GET /%s/{id}/$export", "POST /%s/{id}/$export")),
          onRecord("status"),
          onRecord("events"),
          onRecord("undelivered"),
          Map.entry("resend", List.of("POST /%s/{id}/$resend")),
          Map.entry("close-handover", List.of("POST /%s/{id}/$close-handover")),
          Map.entry(
              "validate",
              List.of("POST /%s/$validate", "GET /%s/{id}/$validate", "POST /%s/{id}/$validate")),
          Map.entry(
              "extract",
              List.of("POST /%s/$extract", "GET /%s/{id}/$extract", "POST /%s/{id}/$extract")));

  private static Map.Entry<String, List<String>> onRecord(String name) {
    return Map.entry(name, List.of("GET /%s/{id}/$" + name, "POST /%s/{id}/$" + name));
  }

  private static OpenAPI document(String form) {
    String text = given().get("/fhir/openapi." + form).then().statusCode(200).extract().asString();
    SwaggerParseResult result = new OpenAPIV3Parser().readContents(text);
    assertEquals(List.of(), Optional.ofNullable(result.getMessages()).orElse(List.of()));
    return result.getOpenAPI();
  }

  private static CapabilityStatement statement() {
    String text = given().accept(Fhir.JSON).get("/fhir/metadata").asString();
    return PlanPerson.CONTEXT.newJsonParser().parseResource(CapabilityStatement.class, text);
  }

  private static CapabilityStatementRestComponent declared() {
    return statement().getRestFirstRep();
  }

  private static Set<String> offered(OpenAPI document) {
    Set<String> offered = new TreeSet<>();
    document
        .getPaths()
        .forEach(
            (path, item) ->
                item.readOperationsMap().keySet().forEach(way -> offered.add(way + " " + path)));
    return offered;
  }

  private static Set<String> expected(CapabilityStatementRestComponent rest) {
    Set<String> expected = new TreeSet<>(Set.of("GET /metadata"));
    rest.getInteraction().forEach(one -> expected.add(OF_SYSTEM.get(one.getCode().toCode())));
    rest.getOperation().forEach(one -> expected.add("POST /$" + one.getName()));
    expected.add("GET /$export");
    for (CapabilityStatementRestResourceComponent resource : rest.getResource()) {
      String type = resource.getType();
      resource
          .getInteraction()
          .forEach(
              one ->
                  OF_INTERACTION
                      .get(one.getCode().toCode())
                      .forEach(way -> expected.add(way.formatted(type))));
      resource
          .getOperation()
          .forEach(
              one ->
                  OF_OPERATION
                      .get(
                          one.getDefinition().endsWith("/group-export")
                              ? "group-export"
                              : one.getName())
                      .forEach(way -> expected.add(way.formatted(type))));
      if (resource.getConditionalUpdate()) {
        expected.add("PUT /" + type);
      }
      if (resource.getConditionalDelete() == ConditionalDeleteStatus.SINGLE) {
        expected.add("DELETE /" + type);
      }
    }
    return expected;
  }

  @Test
  void itOffersWhatTheStatementDeclaresAndNothingElse() {
    Set<String> offered = offered(document("json"));
    assertEquals(expected(declared()), offered);
    assertEquals(offered, offered(document("yaml")));
  }

  @Test
  void eachSearchNamesTheDeclaredParametersAndLinks() {
    OpenAPI document = document("json");
    for (CapabilityStatementRestResourceComponent resource : declared().getResource()) {
      Operation search = document.getPaths().get("/" + resource.getType()).getGet();
      Set<String> names =
          search.getParameters().stream().map(Parameter::getName).collect(Collectors.toSet());
      Set<String> expected = new TreeSet<>(Set.of("_count", "_sort"));
      resource.getSearchParam().forEach(parameter -> expected.add(parameter.getName()));
      if (resource.hasSearchInclude()) {
        expected.add("_include");
      }
      if (resource.hasSearchRevInclude()) {
        expected.add("_revinclude");
      }
      assertEquals(expected, new TreeSet<>(names), resource.getType());
      assertEquals(
          links(resource.getSearchInclude()), links(search, "_include"), resource.getType());
      assertEquals(
          links(resource.getSearchRevInclude()), links(search, "_revinclude"), resource.getType());
    }
  }

  private static Set<String> links(List<StringType> declared) {
    return declared.stream()
        .map(StringType::getValue)
        .collect(Collectors.toCollection(TreeSet::new));
  }

  private static Set<String> links(Operation search, String name) {
    Set<String> links = new TreeSet<>();
    for (Parameter parameter : search.getParameters()) {
      if (parameter.getName().equals(name)) {
        for (Object link : parameter.getSchema().getItems().getEnum()) {
          links.add(link.toString());
        }
      }
    }
    return links;
  }

  @Test
  void aPatchIsTakenInTheDeclaredFormats() {
    CapabilityStatement statement = statement();
    Set<String> declared =
        statement.getPatchFormat().stream().map(CodeType::getValue).collect(Collectors.toSet());
    assertFalse(declared.isEmpty());
    Operation patch = document("json").getPaths().get("/Patient/{id}").getPatch();
    assertEquals(declared, patch.getRequestBody().getContent().keySet());
  }

  @Test
  void anOperationNamesItsParameters() {
    Operation apply = document("json").getPaths().get("/PlanDefinition/{id}/$apply").getGet();
    Map<String, Boolean> needed =
        apply.getParameters().stream()
            .filter(parameter -> "query".equals(parameter.getIn()))
            .collect(
                Collectors.toMap(
                    Parameter::getName, one -> Boolean.TRUE.equals(one.getRequired())));
    assertEquals(Map.of("subject", true, "side", false), needed);
  }

  /** Nothing that the document offers is answered by "no such method" or "no such address". */
  @Test
  void nothingThatItOffersIsUnknownToTheServer() {
    document("json")
        .getPaths()
        .forEach(
            (path, item) ->
                item.readOperationsMap()
                    .keySet()
                    .forEach(
                        method -> {
                          Response answer = attempt(method, path);
                          assertFalse(
                              Set.of(405, 501).contains(answer.statusCode())
                                  || answer.statusCode() >= 500
                                  || answer.statusCode() == 404
                                      && !answer.asString().contains("There is no "),
                              () -> method + " " + path + ": " + answer.asString());
                        }));
  }

  private static Response attempt(HttpMethod method, String path) {
    String type = path.equals("/") ? "Bundle" : path.split("/")[1];
    String address =
        "/fhir" + path.replace("{id}", UUID.randomUUID().toString()).replace("{version}", "1");
    RequestSpecification request = given().urlEncodingEnabled(false);
    if (path.endsWith("/_search")) {
      request.contentType("application/x-www-form-urlencoded").formParam("_count", "1");
    } else if (method == HttpMethod.PATCH) {
      request.contentType("application/json-patch+json").body("[]");
    } else if (method == HttpMethod.POST || method == HttpMethod.PUT) {
      String sent = path.contains("$") ? "Parameters" : type;
      request.contentType(Fhir.JSON).body("{\"resourceType\":\"" + sent + "\"}");
    }
    return request.request(method.name(), address);
  }

  @Test
  void onlyReadingItIsOffered() {
    assertTrue(given().post("/fhir/openapi.json").statusCode() >= 400);
    assertTrue(given().get("/fhir/openapi.txt").statusCode() >= 400);
  }
}
