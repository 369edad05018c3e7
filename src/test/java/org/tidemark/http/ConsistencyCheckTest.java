package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.agroal.api.AgroalDataSource;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.sql.Connection;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.EnumSet;
import java.util.List;
import java.util.Set;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Observation;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.application.ConsistencyCheck;
import org.tidemark.application.Finding;
import org.tidemark.application.Finding.Kind;
import org.tidemark.clinic.ActsForHome;

/** What is damaged in the database is found and named, and nothing else is. */
@ExtendWith(ActsForHome.class)
@QuarkusTest
@TestProfile(ConsistencyCheckTest.Alone.class)
class ConsistencyCheckTest {

  /** A database in which nobody else has planted anything. */
  public static final class Alone implements QuarkusTestProfile {}

  private static PlanPerson person;
  private static PlanPerson other;

  @Inject ConsistencyCheck check;
  @Inject AgroalDataSource database;

  /** Someone with a proposal, which stands beside what is in force as long as it waits. */
  private static void waiting() {
    PlanPerson waiting = PlanPerson.here();
    waiting.send(waiting.baseline());
    waiting.send(waiting.equipment());
    CarePlan plan = waiting.enrolment();
    plan.getExtensionByUrl(PlanPerson.OURS + "change-control")
        .setValue(new CodeType("every-change"));
    waiting.send(plan);
    waiting.settled(1, 5);
    assertEquals(1, waiting.open("approve").size());
  }

  /**
   * A plan that has taken a step, another that has stopped, one that waits, and a taken identifier.
   */
  @BeforeEach
  void people() {
    if (person == null) {
      person = PlanPerson.enrolled();
      person.settled(1, 8);
      other = PlanPerson.enrolled();
      other.settled(1, 2);
      other.send(other.warning(3));
      other.send(other.range(3, 100));
      Observation measured = other.range(4, 101);
      measured.addIdentifier().setSystem("urn:x").setValue("7");
      given()
          .contentType(Fhir.JSON)
          .header("If-None-Exist", "identifier=urn:x|7")
          .body(PlanPerson.json(measured))
          .post("/fhir/Observation")
          .then()
          .statusCode(201);
      waiting();
    }
    assertEquals(List.of(), check.whole().findings());
  }

  @AfterEach
  void allIsWholeAgain() {
    assertEquals(List.of(), check.whole().findings());
  }

  private void sql(String... statements) throws SQLException {
    try (Connection connection = database.getConnection();
        Statement statement = connection.createStatement()) {
      for (String sql : statements) {
        statement.execute(sql);
      }
    }
  }

  private String one(String select) throws SQLException {
    try (Connection connection = database.getConnection();
        Statement statement = connection.createStatement();
        ResultSet row = statement.executeQuery(select)) {
      assertTrue(row.next(), select);
      return row.getString(1);
    }
  }

  private List<Finding> findings() {
    return check.whole().findings();
  }

  private static Set<Kind> kinds(List<Finding> findings) {
    return findings.stream()
        .map(Finding::kind)
        .collect(Collectors.toCollection(() -> EnumSet.noneOf(Kind.class)));
  }

  /** Changes a table, and puts it back after the check. */
  private List<Finding> with(String table, String... changes) throws SQLException {
    sql("create table kept as select * from " + table);
    try {
      sql(changes);
      return findings();
    } finally {
      sql(
          "delete from " + table,
          "insert into " + table + " select * from kept",
          "drop table kept");
    }
  }

  private static String planId() {
    return person.all(CarePlan.class).get(0).getIdElement().getIdPart();
  }

  private String anObservation() throws SQLException {
    return one(
        "select max(resource_id) from resource_current where resource_type = 'Observation'"
            + " and subject = '"
            + person.subject
            + "'");
  }

  @ParameterizedTest(name = "{0}: {1}")
  @CsvSource(
      delimiter = '|',
      value = {
        "cut off | update resource_current set json = substring(json from 1 for 40) | unreadable",
        "of another | update resource_current set json = replace(json, 'Observation', 'Flag') | unreadable",
        "another's id | update resource_current set json = replace(json, '\"id\":\"', '\"id\":\"x') | unreadable",
        "a version missing | update resource_current set version = version + 1 | unreadable,versions,fact-source",
        "about somebody else | update resource_current set subject = 'Patient/somebody' | current-row",
        "about nobody | update resource_current set subject = null | current-row",
        "another time | update resource_current set happened_ms = happened_ms + 1 | current-row",
        "another update | update resource_current set updated_ms = updated_ms + 1 | current-row",
        "a code lost | delete from search_token | search-rows",
        "a code too many | insert into search_token select clinic, resource_type, resource_id, 'code', 'urn:x', 'more' from resource_current | search-rows",
        "a reference too many | insert into search_uri select clinic, resource_type, resource_id, 'focus', 'Patient/more' from resource_current | search-rows",
        "another date | update search_date set high_ms = high_ms + 1 | search-rows",
        "an identifier too many | insert into identifier_key select clinic, resource_type, 'urn:x', 'more', resource_id from resource_current | identifier",
      })
  void aDamagedRecordIsNamed(String what, String change, String kinds) throws SQLException {
    String id = anObservation();
    String table = change.replaceFirst("(update|delete from|insert into) (\\w+).*", "$2");
    String where = " where resource_type = 'Observation' and resource_id = '" + id + "'";
    List<Finding> found = with(table, change + where);
    assertEquals(
        Set.of(kinds.split(",")),
        found.stream().map(f -> f.kind().code()).collect(Collectors.toSet()),
        what + found);
    assertTrue(found.stream().anyMatch(f -> f.where().startsWith("Observation/" + id)), what);
  }

  @Test
  void aLostReferenceIsNamed() throws SQLException {
    List<Finding> found =
        with("search_uri", "delete from search_uri where resource_type = 'Provenance'");
    assertEquals(EnumSet.of(Kind.SEARCH_ROWS), kinds(found));
    assertTrue(found.stream().allMatch(f -> f.where().startsWith("Provenance/")), "" + found);
  }

  @Test
  void aChangedQuantityIsNamed() throws SQLException {
    List<Finding> found =
        with("search_quantity", "update search_quantity set amount = amount + 0.5");
    assertEquals(EnumSet.of(Kind.SEARCH_ROWS), kinds(found));
  }

  @Test
  void damagedHistoryIsNamed() throws SQLException {
    String where = " where resource_type = 'CarePlan' and version = 1";
    assertEquals(
        EnumSet.of(Kind.UNREADABLE),
        kinds(with("resource_version", "update resource_version set json = '{}'" + where)));
    assertEquals(
        EnumSet.of(Kind.VERSIONS, Kind.FACT_SOURCE),
        kinds(with("resource_version", "delete from resource_version" + where)));
  }

  @Test
  void aRecordThatVanishedLeavesItsHistoryAndRows() throws SQLException {
    List<Finding> found =
        with("resource_current", "delete from resource_current where resource_type = 'CarePlan'");
    assertTrue(kinds(found).containsAll(EnumSet.of(Kind.VERSIONS, Kind.ORPHANS)), "" + found);
    assertTrue(found.stream().anyMatch(f -> f.where().startsWith("search_token: ")), "" + found);
    assertTrue(found.stream().anyMatch(f -> f.where().equals("plan: 3")), "" + found);
  }

  @Test
  void aPlanThatCannotBeReadIsNamed() throws SQLException {
    String where = " where plan_id = '" + planId() + "'";
    Finding named = new Finding(Kind.PLAN_UNREADABLE, "CarePlan/" + planId());
    assertEquals(List.of(named), with("plan", "update plan set state = '{'" + where));
    assertEquals(List.of(named), with("plan", "update plan set programme = 'urn:x|1'" + where));
    assertEquals(List.of(named), with("plan_fact", "update plan_fact set content = '{}'" + where));
  }

  @Test
  void aPlanThatDoesNotStandWhereItsFactsLeadIsNamed() throws SQLException {
    Finding named = new Finding(Kind.PLAN_STATE, "CarePlan/" + planId());
    String where = " where plan_id = '" + planId() + "'";
    assertEquals(
        List.of(named),
        with(
            "plan_fact",
            "delete from plan_fact"
                + where
                + " and happened_ms = (select max(happened_ms) from plan_fact"
                + where
                + ")"));
    assertEquals(
        List.of(named),
        with(
            "plan",
            "update plan set state = (select min(state) from plan where plan_id <> '%s')"
                    .formatted(planId())
                + where));
  }

  /** A prescription that was replaced stands again, as its record and its rows say alike. */
  @Test
  void aSecondSetInForceIsNamed() throws SQLException {
    String order =
        one(
            "select min(o.order_id) from plan_order o join search_token t on t.resource_id ="
                + " o.order_id where t.parameter = 'status' and t.code = 'completed'");
    String where = " where resource_type = 'ServiceRequest' and resource_id = '" + order + "'";
    String change =
        "update resource_current set json = replace(json, '\"status\":\"completed\"',"
            + " '\"status\":\"active\"')";
    sql("update search_token set code = 'active'" + where + " and parameter = 'status'");
    try {
      assertEquals(
          List.of(new Finding(Kind.IN_FORCE, "CarePlan/" + planId())),
          with("resource_current", change + where));
    } finally {
      sql("update search_token set code = 'completed'" + where + " and parameter = 'status'");
    }
  }

  @Test
  void aPrescriptionThatDoesNotStandIsNamed() throws SQLException {
    List<Finding> found =
        with("plan_order", "delete from plan_order where plan_id = '%s'".formatted(planId()));
    assertEquals(List.of(new Finding(Kind.IN_FORCE, "CarePlan/" + planId())), found);
  }

  @Test
  void aPlanThatNobodyIsShownIsNamed() throws SQLException {
    assertEquals(
        List.of(new Finding(Kind.CASELOAD, "CarePlan/" + planId())),
        with("caseload", "delete from caseload where plan_id = '" + planId() + "'"));
  }

  @Test
  void aFactWithoutItsRecordIsNamed() throws SQLException {
    List<Finding> found =
        with(
            "plan_fact",
            "update plan_fact set source_version = 99 where plan_id = '%s'".formatted(planId()));
    assertTrue(
        found.contains(new Finding(Kind.FACT_SOURCE, "CarePlan/" + planId())), found.toString());
  }

  @Test
  void rowsOfNothingAreCounted() throws SQLException {
    assertEquals(
        List.of(new Finding(Kind.ORPHANS, "paper_due: 1")),
        with(
            "paper_due",
            "delete from paper_due",
            "insert into paper_due select clinic, 'none', 1, 1 from plan where plan_id = '%s'"
                .formatted(planId())));
  }

  @Test
  void aBrokenTrailIsNamed() throws SQLException {
    List<Finding> found = with("audit_event", "update audit_event set client = 'x' where seq = 2");
    assertEquals(List.of(new Finding(Kind.AUDIT, "AuditEvent/2")), found);
  }

  @Test
  void theCheckSaysHowMuchItHasLookedAt() {
    ConsistencyCheck.Result whole = check.whole();
    assertTrue(whole.records() > 50 && whole.plans() == 3, whole.toString());
  }
}
