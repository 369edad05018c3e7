package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsInAnyOrder;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.empty;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.hamcrest.Matchers.hasItems;
import static org.hamcrest.Matchers.hasSize;
import static org.hamcrest.Matchers.not;
import static org.junit.jupiter.api.Assertions.assertEquals;

import io.quarkus.test.junit.QuarkusTest;
import io.restassured.path.json.JsonPath;
import java.util.List;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;

/** What comes along with the records of a search: {@code _include} and {@code _revinclude}. */
@QuarkusTest
class SearchLinksTest {

  private static final String SUBJECT = ",\"subject\":{\"reference\":\"Patient/links\"}";

  /** A plan of another clinic's making, which the service keeps and does not run. */
  @BeforeEach
  void aPlanWithItsLinks() {
    Fhir.put("Patient", "links", "");
    Fhir.put(
        "Goal",
        "links-goal",
        ",\"lifecycleStatus\":\"active\",\"description\":{\"text\":\"Kneel\"}" + SUBJECT);
    for (String id : List.of("links-first", "links-second")) {
      Fhir.put(
          "ServiceRequest",
          id,
          ",\"status\":\"active\",\"intent\":\"plan\""
              + (id.equals("links-second")
                  ? ",\"basedOn\":[{\"reference\":\"ServiceRequest/links-first\"}]"
                  : "")
              + SUBJECT);
    }
    Fhir.put(
        "CarePlan",
        "links-plan",
        ",\"status\":\"active\",\"intent\":\"plan\","
            + "\"goal\":[{\"reference\":\"Goal/links-goal\"}],"
            + "\"activity\":[{\"reference\":{\"reference\":\"ServiceRequest/links-first\"}},"
            + "{\"reference\":{\"reference\":\"ServiceRequest/links-second\"}},"
            + "{\"reference\":{\"reference\":\"https://elsewhere.example/fhir/ServiceRequest/1\"}}]"
            + SUBJECT);
    Fhir.put(
        "Provenance",
        "links-trail",
        ",\"target\":[{\"reference\":\"CarePlan/links-plan/_history/1\"}],"
            + "\"recorded\":\"2026-01-02T10:00:00Z\","
            + "\"agent\":[{\"who\":{\"reference\":\"Patient/links\"}}]");
    Fhir.put(
        "Task",
        "links-task",
        ",\"status\":\"requested\",\"intent\":\"order\","
            + "\"focus\":{\"reference\":\"ServiceRequest/links-first\"},"
            + "\"for\":{\"reference\":\"Patient/links\"}");
  }

  private static JsonPath found(String query) {
    return given()
        .urlEncodingEnabled(false)
        .get("/fhir/" + query)
        .then()
        .statusCode(200)
        .extract()
        .jsonPath();
  }

  private static List<String> names(JsonPath bundle, String mode) {
    List<String> urls =
        bundle.getList("entry.findAll { it.search.mode == '" + mode + "' }.fullUrl");
    return urls.stream().map(url -> url.replace("http://localhost:8081/fhir/", "")).toList();
  }

  private static void expectAlong(String query, String... along) {
    JsonPath bundle = found(query);
    org.hamcrest.MatcherAssert.assertThat(
        query, names(bundle, "include"), containsInAnyOrder(along));
  }

  @Test
  void case42ThePlansActivitiesAndGoalsComeAlong() {
    String plan = "CarePlan?_id=links-plan&";
    expectAlong(
        plan + "_include=CarePlan:activity-reference",
        "ServiceRequest/links-first",
        "ServiceRequest/links-second");
    expectAlong(plan + "_include=CarePlan:goal", "Goal/links-goal");
    expectAlong(plan + "_include=CarePlan:patient", "Patient/links");
    expectAlong(plan + "_include=CarePlan:subject:Patient", "Patient/links");
    expectAlong(plan + "_revinclude=Provenance:target", "Provenance/links-trail");
    JsonPath all =
        found(
            plan
                + "_include=CarePlan:goal&_include=CarePlan:subject&_include=CarePlan:patient"
                + "&_include=CarePlan:activity-reference&_revinclude=Provenance:target");
    assertEquals(List.of("CarePlan/links-plan"), names(all, "match"));
    assertEquals(5, names(all, "include").size());
    assertEquals(1, all.getInt("total"));
  }

  @Test
  void linksOfTheOtherTypes() {
    expectAlong(
        "ServiceRequest?_id=links-second&_include=ServiceRequest:based-on",
        "ServiceRequest/links-first");
    expectAlong("Goal?_id=links-goal&_include=Goal:patient", "Patient/links");
    expectAlong("Task?_id=links-task&_include=Task:focus", "ServiceRequest/links-first");
    expectAlong("Task?_id=links-task&_include=Task:focus:CarePlan");
    expectAlong(
        "ServiceRequest?_id=links-first&_revinclude=ServiceRequest:based-on"
            + "&_revinclude=CarePlan:activity-reference&_revinclude=Task:focus",
        "ServiceRequest/links-second",
        "CarePlan/links-plan",
        "Task/links-task");
    expectAlong(
        "Patient?_id=links&_revinclude=CarePlan:patient&_revinclude=Goal:subject",
        "CarePlan/links-plan",
        "Goal/links-goal");
  }

  @Test
  void aRecordThatIsFoundDoesNotComeAlongAsWell() {
    JsonPath both =
        found("ServiceRequest?patient=links&_include=ServiceRequest:based-on&_sort=_id");
    assertEquals(
        List.of("ServiceRequest/links-first", "ServiceRequest/links-second"), names(both, "match"));
    org.hamcrest.MatcherAssert.assertThat(names(both, "include"), empty());
  }

  @Test
  void whatComesAlongBelongsToThePageAndDoesNotCount() {
    JsonPath page =
        found(
            "ServiceRequest?patient=links&_sort=-_id&_count=1&_total=accurate"
                + "&_include=ServiceRequest:based-on");
    assertEquals(2, page.getInt("total"));
    assertEquals(List.of("ServiceRequest/links-second"), names(page, "match"));
    assertEquals(List.of("ServiceRequest/links-first"), names(page, "include"));
    String next = page.getString("link.find { it.relation == 'next' }.url");
    org.hamcrest.MatcherAssert.assertThat(
        next, containsString("_include=ServiceRequest%3Abased-on"));
  }

  @Test
  void aLinkThatIsNotOfferedIsRefusedByName() {
    for (String link :
        List.of(
            "_include=CarePlan:care-team",
            "_include=CarePlan:goal:Patient",
            "_include=CarePlan:instantiates-canonical",
            "_include=Goal:patient",
            "_include=goal",
            "_revinclude=Provenance:agent",
            "_revinclude=Observation:based-on:Patient",
            "_revinclude=Goal:patient")) {
      String[] parts = link.split("=");
      given()
          .queryParam(parts[0], parts[1])
          .get("/fhir/CarePlan")
          .then()
          .statusCode(400)
          .body("resourceType", equalTo("OperationOutcome"))
          .body("issue[0].details.coding[0].code", equalTo("unknown-parameter"))
          .body("issue[0].details.text", containsString(link))
          .body("issue[0].expression", equalTo(List.of(parts[0])));
    }
  }

  @Test
  void tooManyRecordsDoNotComeAlongHalf() {
    Fhir.put("Patient", "links-many", "").statusCode(201);
    StringBuilder entries = new StringBuilder();
    for (int i = 0; i < 1001; i++) {
      entries
          .append(i == 0 ? "" : ",")
          .append(
              "{\"resource\":{\"resourceType\":\"Goal\",\"lifecycleStatus\":\"active\","
                  + "\"description\":{\"text\":\"x\"},"
                  + "\"subject\":{\"reference\":\"Patient/links-many\"}},"
                  + "\"request\":{\"method\":\"POST\",\"url\":\"Goal\"}}");
    }
    given()
        .contentType(Fhir.JSON)
        .body("{\"resourceType\":\"Bundle\",\"type\":\"transaction\",\"entry\":[" + entries + "]}")
        .post("/fhir")
        .then()
        .statusCode(200);
    given()
        .queryParam("_id", "links-many")
        .queryParam("_revinclude", "Goal:patient")
        .get("/fhir/Patient")
        .then()
        .statusCode(400)
        .body("issue[0].code", equalTo("too-costly"));
  }

  @Test
  void theCapabilityStatementNamesTheLinks() {
    given()
        .get("/fhir/metadata")
        .then()
        .body(
            "rest[0].resource.find { it.type == 'CarePlan' }.searchInclude",
            hasItems(
                "CarePlan:activity-reference",
                "CarePlan:goal",
                "CarePlan:patient",
                "CarePlan:subject"))
        .body(
            "rest[0].resource.find { it.type == 'CarePlan' }.searchInclude",
            not(hasItem("CarePlan:instantiates-canonical")))
        .body(
            "rest[0].resource.find { it.type == 'CarePlan' }.searchRevInclude",
            hasItem("Provenance:target"))
        .body(
            "rest[0].resource.find { it.type == 'Patient' }.searchRevInclude",
            hasItems("Observation:patient", "GuidanceResponse:patient", "RiskAssessment:patient"))
        .body(
            "rest[0].resource.find { it.type == 'ServiceRequest' }.searchRevInclude",
            hasItems("Task:focus", "Observation:based-on"));
    given()
        .get("/fhir/Patient?_id=links&_revinclude=Patient:link")
        .then()
        .statusCode(400)
        .body("issue", hasSize(1));
  }
}
