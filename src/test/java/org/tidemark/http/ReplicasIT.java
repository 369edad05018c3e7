package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.restassured.RestAssured;
import java.sql.Connection;
import java.sql.DriverManager;
import java.sql.Statement;
import java.util.ArrayList;
import java.util.HashSet;
import java.util.List;
import java.util.Map;
import java.util.UUID;
import java.util.concurrent.Callable;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.Resource;
import org.junit.jupiter.api.AfterAll;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.Test;
import org.tidemark.store.PostgresServer;

/**
 * Two processes of the packaged service on one PostgreSQL, which begin at once on an empty
 * database. Which of them a request comes to makes no difference.
 */
class ReplicasIT {
  private static final int FIRST = PlanPerson.PORT;

  private static final List<PackagedService> RUNNING = new ArrayList<>();
  private static Map<String, String> settings;
  private static int second;

  @BeforeAll
  static void start() throws Exception {
    settings =
        Map.of(
            "TIDEMARK_DATABASE_URL",
            PostgresServer.newDatabase(),
            "TIDEMARK_DATABASE_USER",
            PostgresServer.USER);
    second = PackagedService.freePort();
    for (int port : List.of(FIRST, second)) {
      RUNNING.add(PackagedService.start(port, settings));
    }
    for (PackagedService service : RUNNING) {
      service.awaitReady();
    }
    RestAssured.port = FIRST;
  }

  @AfterAll
  static void stop() throws InterruptedException {
    RestAssured.reset();
    for (PackagedService service : RUNNING) {
      service.stop();
    }
  }

  private static int post(int port, Resource resource) {
    return given()
        .port(port)
        .contentType(Fhir.JSON)
        .body(PlanPerson.json(resource))
        .post("/fhir/" + resource.fhirType())
        .statusCode();
  }

  @Test
  void reportsInTurnsLeadWhereReportsAtOneLead() {
    PlanPerson inTurns = PlanPerson.enrolled();
    for (int day = 1; day <= 8; day++) {
      assertEquals(201, post(day % 2 == 0 ? FIRST : second, inTurns.session(day)));
      assertEquals(201, post(day % 2 == 0 ? second : FIRST, inTurns.morning(day)));
    }
    PlanPerson atOne = PlanPerson.enrolled();
    List<String> start = atOne.asked();
    atOne.settled(1, 8);
    assertTrue(!start.equals(atOne.asked()), "a step was taken");
    assertEquals(atOne.asked(), inTurns.asked());
    assertEquals(verdicts(atOne), verdicts(inTurns));
  }

  private static List<String> verdicts(PlanPerson person) {
    return person.decisions().stream().map(PlanPerson::verdict).toList();
  }

  @Test
  void reportsAtOnceAreEachDecidedOnce() throws Exception {
    PlanPerson person = PlanPerson.enrolled();
    int before = person.all(GuidanceResponse.class).size();
    List<Callable<Integer>> posts = new ArrayList<>();
    for (int day = 1; day <= 8; day++) {
      Resource session = person.session(day);
      Resource morning = person.morning(day);
      int here = day % 2 == 0 ? FIRST : second;
      int there = day % 2 == 0 ? second : FIRST;
      posts.add(() -> post(here, session));
      posts.add(() -> post(there, morning));
    }
    assertEquals(List.of(201), atOnce(posts).stream().distinct().toList());
    assertEquals(person.nextAsked(), person.asked(), "what stands is what a replay leads to");
    PlanPerson inOrder = PlanPerson.enrolled();
    inOrder.settled(1, 8);
    assertEquals(inOrder.asked(), person.asked());
    List<GuidanceResponse> decisions = person.all(GuidanceResponse.class);
    assertTrue(decisions.size() - before <= 16, "at most one decision for a report");
    assertEquals(
        decisions.size(),
        new HashSet<>(decisions.stream().map(d -> d.getIdElement().getIdPart()).toList()).size());
  }

  @Test
  void ofEnrolmentsAtBothOneOpensThePlan() throws Exception {
    PlanPerson person = PlanPerson.here();
    person.send(person.baseline());
    person.send(person.equipment());
    List<Callable<Integer>> posts = new ArrayList<>();
    for (int i = 0; i < 8; i++) {
      int port = i % 2 == 0 ? FIRST : second;
      posts.add(() -> post(port, person.enrolment()));
    }
    List<Integer> statuses = atOnce(posts);
    assertEquals(1, statuses.stream().filter(status -> status == 201).count(), "" + statuses);
    assertEquals(1, person.all(CarePlan.class).size());
  }

  /** With the codes that it knows its measurements by, which the guide lists. */
  @Test
  void aProgrammeThatOneHasTakenIsKnownToTheOther() {
    String code = "clinic-" + UUID.randomUUID();
    assertTrue(!guide(second).contains(code));
    PlanDefinition programme =
        PlanPerson.CONTEXT
            .newJsonParser()
            .parseResource(
                PlanDefinition.class,
                given()
                    .get("/fhir/PlanDefinition/knee-deep-flexion")
                    .asString()
                    .replace("PlanDefinition/knee-deep-flexion", "PlanDefinition/" + code));
    programme.setId((String) null);
    programme.setMeta(null);
    programme
        .getExtensionsByUrl(PlanPerson.OURS + "reads")
        .get(0)
        .getExtension()
        .forEach(
            part -> {
              if (part.getValue() instanceof Coding coding) {
                coding.setCode(code);
              }
            });
    assertEquals(201, post(FIRST, programme));
    assertTrue(guide(second).contains(code));
  }

  @Test
  void anInstanceThatIsOlderThanTheSchemaDoesNotStart() throws Exception {
    try (Connection connection =
            DriverManager.getConnection(
                settings.get("TIDEMARK_DATABASE_URL"), PostgresServer.USER, "");
        Statement sql = connection.createStatement()) {
      sql.execute(
          "insert into flyway_schema_history values"
              + " (1000, '4711', 'later', 'SQL', 'V4711__later.sql', 1, 'somebody', now(), 1, true)");
      try {
        PackagedService older = PackagedService.start(PackagedService.freePort(), settings);
        assertTrue(older.awaitEnd() != 0);
        String said = older.log();
        assertTrue(said.contains("The database has schema 4711"), said);
      } finally {
        sql.execute("delete from flyway_schema_history where version = '4711'");
      }
    }
  }

  private static String guide(int port) {
    return given().port(port).get("/guide").asString();
  }

  private static List<Integer> atOnce(List<Callable<Integer>> posts) throws Exception {
    ExecutorService threads = Executors.newFixedThreadPool(8);
    try {
      List<Integer> statuses = new ArrayList<>();
      for (Future<Integer> status : threads.invokeAll(posts)) {
        statuses.add(status.get());
      }
      return statuses;
    } finally {
      threads.shutdown();
    }
  }
}
