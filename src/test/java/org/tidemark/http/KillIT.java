package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.zonky.test.db.postgres.embedded.EmbeddedPostgres;
import java.nio.file.Path;
import java.sql.Connection;
import java.sql.DriverManager;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.concurrent.ThreadLocalRandom;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;
import org.tidemark.store.DurableH2Driver;
import org.tidemark.store.PostgresServer;

/**
 * The packaged service and its database are killed (SIGKILL) under load, again and again: whatever
 * was acknowledged is there in the same text, and plans are whole. The property {@code kill.rounds}
 * says how often.
 */
class KillIT {
  private static final int ROUNDS = Integer.getInteger("kill.rounds", 3);
  private static final int PORT = PlanPerson.PORT;
  private static final int MOST_MS_OF_A_START = 8_000;

  @TempDir Path folder;

  private final List<PlanPerson> people = new ArrayList<>();
  private final List<PlanPerson> measured = new ArrayList<>();

  /** New people and writers about them. */
  private Load load() {
    Load load = new Load();
    for (int i = 0; i < 2; i++) {
      PlanPerson person = PlanPerson.enrolled();
      people.add(person);
      load.reports(person, 1);
    }
    PlanPerson other = PlanPerson.here();
    measured.add(other);
    load.transactions(other);
    return load;
  }

  private static int some() {
    return ThreadLocalRandom.current().nextInt(20, 90);
  }

  private Map<String, String> h2() {
    return Map.of("TIDEMARK_DATA", folder.toString());
  }

  private static Map<String, String> postgresql(String url) {
    return Map.of("TIDEMARK_DATABASE_URL", url, "TIDEMARK_DATABASE_USER", PostgresServer.USER);
  }

  @Test
  void onTheEmbeddedDatabaseNothingAcknowledgedIsLost() throws Exception {
    killTheService(h2());
    try (Connection connection =
        new DurableH2Driver()
            .connect(
                "jdbc:h2:%s:%s/tidemark".formatted(DurableH2Driver.SCHEME, folder),
                user("tidemark"))) {
      requireVersionsWithoutGaps(connection);
    }
  }

  @Test
  void onPostgresqlNothingAcknowledgedIsLost() throws Exception {
    String url = PostgresServer.newDatabase();
    killTheService(postgresql(url));
    try (Connection connection = DriverManager.getConnection(url, PostgresServer.ADMIN, "")) {
      requireVersionsWithoutGaps(connection);
    }
  }

  private void killTheService(Map<String, String> settings) throws Exception {
    PackagedService service = PackagedService.start(PORT, settings).awaitReady();
    try {
      for (int round = 0; round < ROUNDS; round++) {
        Load load = load();
        load.awaitAnswers(some());
        service.kill();
        load.awaitEnd();
        service = PackagedService.start(PORT, settings).awaitReady();
        load.requireAll();
        assertTrue(load.acknowledged() > 0);
        requireWholePlans();
      }
    } finally {
      service.stop();
    }
  }

  /** The service is not started anew: it serves again as soon as its database does. */
  @Test
  void whenPostgresqlIsKilledNothingAcknowledgedIsLost() throws Exception {
    int port = PackagedService.freePort();
    EmbeddedPostgres server = PostgresServer.start(folder, port);
    Map<String, String> settings =
        postgresql("jdbc:postgresql://localhost:" + port + "/" + PostgresServer.USER);
    PackagedService service = PackagedService.start(PORT, settings).awaitReady();
    try {
      for (int round = 0; round < ROUNDS; round++) {
        Load load = load();
        load.awaitAnswers(some());
        PostgresServer.kill(folder);
        load.awaitEnd();
        load.refusals().forEach(refusal -> assertEquals(503, refusal.statusCode()));
        assertEquals(503, service.status("/q/health/ready"));
        assertEquals(503, service.status("/fhir/Patient?_id=nobody"));
        assertEquals(200, service.status("/q/health/live"));
        server.close();
        server = PostgresServer.start(folder, port);
        service.awaitReady();
        load.requireAll();
        requireWholePlans();
      }
      try (Connection connection =
          server.getDatabase(PostgresServer.ADMIN, PostgresServer.USER).getConnection()) {
        requireVersionsWithoutGaps(connection);
      }
    } finally {
      service.stop();
      server.close();
    }
  }

  /**
   * Whenever a first start ends, while tables are made or definitions written, the next succeeds:
   * on PostgreSQL once that has ended what the killed one had begun, such as a commit.
   */
  @Test
  void aStartThatIsKilledIsMadeUpForByTheNext() throws Exception {
    for (Map<String, String> settings : List.of(h2(), postgresql(PostgresServer.newDatabase()))) {
      for (int round = 0; round < ROUNDS; round++) {
        PackagedService service = PackagedService.start(PORT, settings);
        Thread.sleep(
            ThreadLocalRandom.current().nextLong(MOST_MS_OF_A_START / 4, MOST_MS_OF_A_START));
        service.kill();
        awaitNobody(settings);
      }
      PackagedService service = PackagedService.start(PORT, settings).awaitReady();
      try {
        PlanPerson.enrolled().settled(1, 1);
      } finally {
        service.stop();
      }
    }
  }

  private static void awaitNobody(Map<String, String> settings) throws Exception {
    String url = settings.get("TIDEMARK_DATABASE_URL");
    if (url == null) {
      return;
    }
    try (Connection connection = DriverManager.getConnection(url, PostgresServer.ADMIN, "");
        Statement sql = connection.createStatement()) {
      for (int tenth = 0; ; tenth++) {
        try (ResultSet others =
            sql.executeQuery(
                "select count(*) from pg_stat_activity"
                    + " where datname = current_database() and pid <> pg_backend_pid()")) {
          others.next();
          if (others.getInt(1) == 0) {
            return;
          }
        }
        assertTrue(tenth < 300, "PostgreSQL goes on with what the killed service has begun");
        Thread.sleep(100);
      }
    }
  }

  private static java.util.Properties user(String name) {
    java.util.Properties user = new java.util.Properties();
    user.setProperty("user", name);
    return user;
  }

  /** What stands is what a replay leads to, and of a transaction all is there or nothing. */
  private void requireWholePlans() {
    for (PlanPerson person : people) {
      assertEquals(person.nextAsked(), person.asked(), person.subject);
      CarePlan plan = person.all(CarePlan.class).get(0);
      List<String> listed =
          plan.getActivity().stream()
              .map(activity -> activity.getReference().getReference())
              .sorted()
              .toList();
      List<String> active =
          person.all(ServiceRequest.class).stream()
              .filter(order -> order.getStatus().toCode().equals("active"))
              .map(order -> "ServiceRequest/" + order.getIdElement().getIdPart())
              .sorted()
              .toList();
      assertEquals(listed, active, "in force are those that the plan lists, and no other");
    }
    for (PlanPerson person : measured) {
      int stored =
          given()
              .queryParam("subject", person.subject)
              .queryParam("_summary", "count")
              .get(PlanPerson.BASE + "/Observation")
              .path("total");
      assertEquals(0, stored % Load.IN_A_BUNDLE, person.subject);
    }
  }

  private static void requireVersionsWithoutGaps(Connection connection) throws SQLException {
    try (Statement statement = connection.createStatement();
        ResultSet gaps =
            statement.executeQuery(
                "select count(*) from resource_current c where c.version - 1 <>"
                    + " (select count(*) from resource_version v where v.clinic = c.clinic"
                    + " and v.resource_type = c.resource_type and v.resource_id = c.resource_id"
                    + " and v.version < c.version)")) {
      gaps.next();
      assertEquals(0, gaps.getLong(1));
    }
  }
}
