package org.tidemark.http;

import static io.restassured.RestAssured.given;

import io.restassured.response.ValidatableResponse;

/** What the endpoint's tests send again and again. */
final class Fhir {
  static final String JSON = "application/fhir+json;charset=UTF-8";
  static final String XML = "application/fhir+xml;charset=UTF-8";

  private Fhir() {}

  /** Puts a resource with an id and further members, which begin with a comma if there are any. */
  static ValidatableResponse put(String type, String id, String members) {
    return given()
        .contentType(JSON)
        .body("{\"resourceType\":\"" + type + "\",\"id\":\"" + id + "\"" + members + "}")
        .put("/fhir/" + type + "/" + id)
        .then();
  }

  /** Posts an Observation. */
  static ValidatableResponse post(String observation) {
    return given().contentType(JSON).body(observation).post("/fhir/Observation").then();
  }

  /** An Observation with one number. */
  static String observation(String patient, String loinc, String effective, String value) {
    return """
        {"resourceType":"Observation","status":"final",
         "code":{"coding":[{"system":"http://loinc.org","code":"%s"}]},
         "subject":{"reference":"Patient/%s"},
         "effectiveDateTime":"%s",
         "valueQuantity":{"value":%s,"system":"http://unitsofmeasure.org","code":"1"}}"""
        .formatted(loinc, patient, effective, value);
  }
}
