package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasSize;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import java.util.Collections;
import java.util.Map;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/** Limits that are set are kept, on both sides, and told. */
@QuarkusTest
@TestProfile(LimitsTest.Narrow.class)
class LimitsTest {
  /** Others than the usual. */
  public static final class Narrow implements QuarkusTestProfile {
    @Override
    public Map<String, String> getConfigOverrides() {
      return Map.of(
          "tidemark.body-limit", "20000",
          "tidemark.nesting-limit", "41",
          "tidemark.entry-limit", "7",
          "tidemark.page-size", "2",
          "tidemark.page-limit", "3");
    }
  }

  @ParameterizedTest
  @CsvSource({"7, 200", "8, 413"})
  void entries(int entries, int status) {
    String entry =
        "{\"resource\":{\"resourceType\":\"Patient\"},\"request\":{\"method\":\"POST\",\"url\":\"Patient\"}}";
    for (String type : new String[] {"transaction", "batch"}) {
      given()
          .contentType(Fhir.JSON)
          .body(
              "{\"resourceType\":\"Bundle\",\"type\":\"%s\",\"entry\":[%s]}"
                  .formatted(type, String.join(",", Collections.nCopies(entries, entry))))
          .post("/fhir")
          .then()
          .statusCode(status);
    }
  }

  @Test
  void pages() {
    for (int i = 0; i < 4; i++) {
      given()
          .contentType(Fhir.JSON)
          .body("{\"resourceType\":\"Device\"}")
          .post("/fhir/Device")
          .then()
          .statusCode(201);
    }
    for (String place : new String[] {"/fhir/Device", "/fhir/Device/_history"}) {
      given().get(place).then().body("entry", hasSize(2));
      given().get(place + "?_count=3").then().body("entry", hasSize(3));
      given().get(place + "?_count=4").then().body("entry", hasSize(3));
    }
  }

  /** The root, and for each extension a list and an object. */
  @ParameterizedTest
  @CsvSource({"20, 201", "21, 400"})
  void depth(int extensions, int status) {
    String inner = "\"extension\":[{\"url\":\"http://a.example/b\",";
    String json =
        "{\"resourceType\":\"Patient\","
            + inner.repeat(extensions)
            + "\"valueString\":\"x\""
            + "}]".repeat(extensions)
            + "}";
    given()
        .contentType(Fhir.JSON)
        .body(json)
        .post("/fhir/Patient")
        .then()
        .statusCode(status)
        .body(containsString(status == 201 ? "valueString" : "nests more than 41 deep"));
  }

  @ParameterizedTest
  @CsvSource({"19000, 201", "20001, 413"})
  void body(int characters, int status) {
    given()
        .contentType(Fhir.JSON)
        .body(
            "{\"resourceType\":\"Patient\",\"name\":[{\"text\":\"%s\"}]}"
                .formatted("x".repeat(characters)))
        .post("/fhir/Patient")
        .then()
        .statusCode(status);
  }

  @Test
  void allAreTold() {
    String told =
        "A body has at most 20000 bytes and nests at most 41 deep; a transaction or batch has at most"
            + " 7 entries; a page has 2 records unless _count asks for others, and at most 3.";
    given().get("/fhir/metadata").then().body("rest[0].documentation", equalTo(told));
    given().get("/fhir/openapi.json").then().body("info.description", containsString(told));
    given().get("/guide").then().body(containsString("A body nests 41 deep at the most."));
  }
}
