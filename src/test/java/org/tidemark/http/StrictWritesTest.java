package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.everyItem;
import static org.hamcrest.Matchers.hasItem;
import static org.hamcrest.Matchers.startsWith;
import static org.junit.jupiter.api.Assertions.assertEquals;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import io.restassured.response.ValidatableResponse;
import io.restassured.specification.RequestSpecification;
import java.util.Map;
import java.util.UUID;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleType;
import org.hl7.fhir.r4.model.Bundle.HTTPVerb;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Observation;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.EnumSource;

/** Where a change must name the version that was read, and an identifier sent again is the same. */
@QuarkusTest
@TestProfile(StrictWritesTest.Strict.class)
class StrictWritesTest {
  /** Both are the other way round unless they are set. */
  public static final class Strict implements QuarkusTestProfile {
    @Override
    public Map<String, String> getConfigOverrides() {
      return Map.of("tidemark.if-match", "required", "tidemark.repeated-identifier", "same");
    }
  }

  private static RequestSpecification sending(String body) {
    return given().contentType(Fhir.JSON).body(body);
  }

  private static void refused(ValidatableResponse answer) {
    answer
        .statusCode(428)
        .body("resourceType", equalTo("OperationOutcome"))
        .body("issue[0].details.coding[0].code", equalTo("version-needed"))
        .body("issue[0].expression[0]", equalTo("CarePlan.meta.versionId"));
  }

  @Test
  void case18APlanIsChangedOnlyFromTheVersionThatWasRead() {
    PlanPerson person = PlanPerson.enrolled();
    CarePlan plan = person.plan();
    String address = "/fhir/CarePlan/" + plan.getIdPart();
    String tag = "W/\"" + plan.getMeta().getVersionId() + "\"";
    String held = PlanPerson.json(plan.setStatus(CarePlan.CarePlanStatus.ONHOLD));
    String patch = "[{\"op\":\"replace\",\"path\":\"/status\",\"value\":\"on-hold\"}]";
    refused(sending(held).put(address).then());
    refused(given().contentType("application/json-patch+json").body(patch).patch(address).then());
    for (BundleType type : new BundleType[] {BundleType.TRANSACTION, BundleType.BATCH}) {
      Bundle bundle = new Bundle().setType(type);
      bundle
          .addEntry()
          .setResource(plan)
          .getRequest()
          .setMethod(HTTPVerb.PUT)
          .setUrl("CarePlan/" + plan.getIdPart());
      ValidatableResponse answer = sending(PlanPerson.json(bundle)).post("/fhir").then();
      if (type == BundleType.TRANSACTION) {
        answer.statusCode(428);
      } else {
        answer.statusCode(200).body("entry[0].response.status", startsWith("428"));
      }
    }
    assertEquals(plan.getMeta().getVersionId(), person.plan().getMeta().getVersionId());
    sending(held)
        .post("/fhir/CarePlan/" + plan.getIdPart() + "/$validate?mode=update")
        .then()
        .statusCode(200);
    sending(held).header("If-Match", tag).put(address).then().statusCode(200);
    assertEquals(CarePlan.CarePlanStatus.ONHOLD, person.plan().getStatus());
    sending(held).header("If-Match", tag).put(address).then().statusCode(412);
  }

  @Test
  void case18WhatIsNewNeedsNoVersionAndADeletionDoes() {
    String id = "strict-" + UUID.randomUUID();
    Fhir.put("Patient", id, "").statusCode(201);
    given().delete("/fhir/Patient/" + id).then().statusCode(428);
    given().header("If-Match", "W/\"1\"").delete("/fhir/Patient/" + id).then().statusCode(204);
    given()
        .get("/fhir/metadata")
        .then()
        .body(
            "rest[0].resource.findAll { it.type in ['CarePlan', 'Goal', 'Patient'] }.versioning",
            everyItem(equalTo("versioned-update")));
  }

  @Test
  void case17TheSameIdentifierSentAgainIsTheSameRecord() {
    PlanPerson person = PlanPerson.enrolled();
    Observation session = person.session(1);
    session.addIdentifier(
        new Identifier().setSystem("https://portal.example/reports|a,b").setValue("r$1"));
    String id = PlanPerson.post(session).statusCode(201).extract().path("id");
    int decisions = person.all(GuidanceResponse.class).size();
    PlanPerson.post(session).statusCode(200).body("id", equalTo(id));
    session.getComponent().clear();
    PlanPerson.post(session).statusCode(200).body("id", equalTo(id));
    assertEquals(decisions, person.all(GuidanceResponse.class).size());
    given()
        .get("/fhir/Observation/" + id)
        .then()
        .body("meta.versionId", equalTo("1"))
        .body("component.code.coding.code.flatten()", hasItem("sets-done"));
  }

  @ParameterizedTest
  @EnumSource(
      value = BundleType.class,
      names = {"TRANSACTION", "BATCH"})
  void case17TheSameIdentifierInABundleIsTheSameRecord(BundleType type) {
    PlanPerson person = PlanPerson.enrolled();
    Observation session = person.session(1);
    session.addIdentifier(
        new Identifier().setSystem("urn:reports").setValue(UUID.randomUUID().toString()));
    Bundle bundle = new Bundle().setType(type);
    bundle
        .addEntry()
        .setResource(session)
        .getRequest()
        .setMethod(HTTPVerb.POST)
        .setUrl("Observation");
    String body = PlanPerson.json(bundle);
    String location =
        sending(body)
            .post("/fhir")
            .then()
            .statusCode(200)
            .body("entry[0].response.status", startsWith("201"))
            .extract()
            .path("entry[0].response.location");
    sending(body)
        .post("/fhir")
        .then()
        .statusCode(200)
        .body("entry[0].response.status", startsWith("200"))
        .body("entry[0].response.location", equalTo(location));
  }

  @Test
  void case17WithoutAnIdentifierItIsAnother() {
    PlanPerson person = PlanPerson.here();
    String id = PlanPerson.post(person.session(1)).statusCode(201).extract().path("id");
    PlanPerson.post(person.session(1)).statusCode(201).body("id", org.hamcrest.Matchers.not(id));
  }
}
