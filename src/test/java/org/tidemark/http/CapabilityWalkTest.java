package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.restassured.response.Response;
import io.restassured.specification.RequestSpecification;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.UUID;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.CapabilityStatement;
import org.hl7.fhir.r4.model.StructureDefinition;
import org.hl7.fhir.r4.model.StructureDefinition.StructureDefinitionKind;
import org.junit.jupiter.api.Test;
import org.tidemark.fhir.ProfileFiles;

/**
 * Case 43: walks the CapabilityStatement. Each interaction that it declares is offered, each other
 * one that R4 knows is refused. Search parameters and links are walked by {@link ClientTest}.
 */
@QuarkusTest
class CapabilityWalkTest {
  /** Every interaction with a type that R4 knows (value set type-restful-interaction). */
  private static final List<String> INTERACTIONS =
      List.of(
          "read",
          "vread",
          "update",
          "patch",
          "delete",
          "history-instance",
          "history-type",
          "create",
          "search-type");

  /** Operations that are called on a type and not on a record. */
  private static final Set<String> ON_TYPE = Set.of("export");

  /** Where a type or method is not offered at all. */
  private static final List<Integer> NOT_OFFERED = List.of(404, 405);

  private static Map<String, Object> rest() {
    return given().get("/fhir/metadata").then().statusCode(200).extract().path("rest[0]");
  }

  @SuppressWarnings("unchecked")
  private static List<Map<String, Object>> resources() {
    return (List<Map<String, Object>>) rest().get("resource");
  }

  @SuppressWarnings("unchecked")
  private static List<String> codes(Map<String, Object> of, String list, String name) {
    List<String> codes = new ArrayList<>();
    ((List<Map<String, Object>>) of.getOrDefault(list, List.of()))
        .forEach(one -> codes.add((String) one.get(name)));
    return codes;
  }

  @Test
  void eachDeclaredInteractionIsOfferedAndNoOther() {
    for (Map<String, Object> resource : resources()) {
      String type = (String) resource.get("type");
      List<String> declared = codes(resource, "interaction", "code");
      for (String interaction : INTERACTIONS) {
        Response answer = attempt(type, interaction);
        assertEquals(
            declared.contains(interaction),
            offered(interaction, answer),
            () -> type + " " + interaction + ": " + answer.statusCode() + answer.asString());
        assertTrue(answer.statusCode() < 500, () -> type + " " + interaction);
      }
    }
  }

  /** A record that is not there is told by our own code, apart from a method that is not. */
  private static boolean offered(String interaction, Response answer) {
    if (interaction.equals("read")
        || interaction.equals("vread")
        || interaction.equals("history-instance")
        || interaction.equals("patch")) {
      return answer.statusCode() == 404
          && "not-found".equals(answer.path("issue[0].details.coding[0].code"))
          && answer.asString().contains("There is no ");
    }
    return !NOT_OFFERED.contains(answer.statusCode());
  }

  private static Response attempt(String type, String interaction) {
    String absent = "/fhir/" + type + "/" + UUID.randomUUID();
    RequestSpecification body =
        given().contentType(Fhir.JSON).body("{\"resourceType\":\"" + type + "\"}");
    return switch (interaction) {
      case "read" -> given().get(absent);
      case "vread" -> given().get(absent + "/_history/1");
      case "history-instance" -> given().get(absent + "/_history");
      case "history-type" -> given().get("/fhir/" + type + "/_history?_count=1");
      case "search-type" -> given().get("/fhir/" + type + "?_count=1");
      case "create" -> body.post("/fhir/" + type);
      case "update" -> body.put(absent);
      case "delete" -> given().delete(absent);
      case "patch" ->
          given()
              .contentType("application/json-patch+json")
              .body("[{\"op\":\"add\",\"path\":\"/language\",\"value\":\"en\"}]")
              .patch(absent);
      default -> throw new IllegalArgumentException(interaction);
    };
  }

  @Test
  void theInteractionsWithTheWholeSystemAreOffered() {
    List<String> declared = codes(rest(), "interaction", "code");
    assertTrue(
        declared.containsAll(List.of("transaction", "batch", "history-system")),
        declared.toString());
    assertFalse(declared.contains("search-system"));
    given().get("/fhir/_history?_count=1").then().statusCode(200);
    for (String type : List.of("transaction", "batch")) {
      given()
          .contentType(Fhir.JSON)
          .body("{\"resourceType\":\"Bundle\",\"type\":\"" + type + "\"}")
          .post("/fhir")
          .then()
          .statusCode(200);
    }
    assertTrue(given().get("/fhir?_count=1").statusCode() >= 400);
  }

  /** An operation that is known complains of what is missing, not of its name. */
  @Test
  void eachDeclaredOperationIsKnownAndNoOther() {
    for (Map<String, Object> resource : resources()) {
      String type = (String) resource.get("type");
      for (String operation : codes(resource, "operation", "name")) {
        Response answer =
            given()
                .contentType(Fhir.JSON)
                .body("{\"resourceType\":\"Parameters\"}")
                .post("/fhir/" + type + (isOnType(type, operation) ? "/$" : "/none/$") + operation);
        assertFalse(
            answer.asString().contains("Invalid request") || answer.statusCode() >= 500,
            () -> type + "/$" + operation + ": " + answer.asString());
      }
      Response unknown = given().get("/fhir/" + type + "/none/$paint");
      assertTrue(unknown.statusCode() >= 400 && unknown.statusCode() < 500);
    }
  }

  private static boolean isOnType(String type, String operation) {
    return ON_TYPE.contains(operation) && !type.equals("Group");
  }

  @Test
  void aTypeThatIsNotDeclaredIsNotServed() {
    List<String> types = resources().stream().map(one -> (String) one.get("type")).toList();
    for (String type : List.of("Encounter", "Claim", "MedicationRequest")) {
      assertFalse(types.contains(type));
      given().get("/fhir/" + type + "?_count=1").then().statusCode(404);
      given().get("/fhir/" + type + "/1").then().statusCode(404);
    }
  }

  /**
   * The statement that comes with the profiles says what the service says of itself. This test
   * writes what it should be to {@code target/CapabilityStatement.json}.
   */
  @Test
  void theStatementAmongTheProfilesIsTheOneThatIsServed() throws IOException {
    CapabilityStatement published =
        (CapabilityStatement) ProfileFiles.all().get("CapabilityStatement/server.json");
    CapabilityStatement served =
        ProfileFiles.R4
            .newJsonParser()
            .parseResource(CapabilityStatement.class, given().get("/fhir/metadata").asString());
    String is = inOrder(published);
    CapabilityStatement should = published.copy();
    should.setRest(served.getRest()).setFormat(served.getFormat());
    should.setPatchFormat(served.getPatchFormat()).setFhirVersion(served.getFhirVersion());
    String shouldBe = inOrder(should);
    Files.writeString(Path.of("target", "CapabilityStatement.json"), shouldBe);
    assertEquals(shouldBe, is);
    should
        .getRestFirstRep()
        .getResource()
        .forEach(
            resource ->
                assertEquals(
                    ProfileFiles.all().values().stream()
                        .filter(definition -> definition instanceof StructureDefinition)
                        .map(StructureDefinition.class::cast)
                        .filter(
                            profile ->
                                profile.getKind() == StructureDefinitionKind.RESOURCE
                                    && profile.getType().equals(resource.getType()))
                        .map(StructureDefinition::getUrl)
                        .collect(Collectors.toSet()),
                    resource.getSupportedProfile().stream()
                        .map(CanonicalType::getValue)
                        .collect(Collectors.toSet()),
                    resource.getType()));
  }

  /** The order of interactions and operations means nothing. */
  private static String inOrder(CapabilityStatement statement) {
    CapabilityStatement sorted = statement.copy();
    sorted.getRestFirstRep().getOperation().sort(Comparator.comparing(o -> o.getName()));
    sorted
        .getRestFirstRep()
        .getResource()
        .forEach(
            resource -> {
              resource.getInteraction().sort(Comparator.comparing(i -> i.getCode().toCode()));
              resource.getOperation().sort(Comparator.comparing(o -> o.getName()));
            });
    return ProfileFiles.R4.newJsonParser().setPrettyPrint(true).encodeResourceToString(sorted)
        + "\n";
  }
}
