package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import io.agroal.api.AgroalDataSource;
import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.test.junit.QuarkusTest;
import io.restassured.RestAssured;
import jakarta.inject.Inject;
import java.sql.Connection;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.Set;
import java.util.TreeSet;
import org.hibernate.StatelessSession;
import org.junit.jupiter.api.Test;
import org.tidemark.audit.AuditTrail;
import org.tidemark.clinic.ActingClinic;
import org.tidemark.clinic.ActsForHome;

/**
 * The wall of the tests stands: {@link ClinicWall} looks at what goes through Hibernate, in every
 * test; what the audit trail sends past it is taken here from the database's own list.
 */
@QuarkusTest
class EveryStatementTest {
  @Inject StatelessSession session;
  @Inject AgroalDataSource database;
  @Inject AuditTrail trail;

  @Test
  void aStatementWithoutAClinicDoesNotPass() {
    RestAssured.get("/fhir/Patient?_count=1").then().statusCode(200);
    assertTrue(ClinicWall.passed() > 10, "what a start and a request send: " + ClinicWall.passed());
    RuntimeException refused =
        assertThrows(
            RuntimeException.class,
            () ->
                ActingClinic.during(
                    ActsForHome.HOME,
                    () ->
                        QuarkusTransaction.requiringNew()
                            .run(
                                () ->
                                    session
                                        .createNativeQuery(
                                            "select plan_id from plan where plan_id = 'x'",
                                            String.class)
                                        .list())));
    assertTrue(refused.getMessage().contains("no clinic for [plan]"), refused.getMessage());
  }

  /** H2 lists the statements that it has carried out, whoever sent them. */
  @Test
  void whatTheTrailSendsNamesItsClinic() throws SQLException {
    assumeTrue(!"postgresql".equals(System.getProperty("database")), "on H2 only");
    try (Connection connection = database.getConnection();
        Statement sql = connection.createStatement()) {
      sql.execute("set query_statistics true");
      sql.execute("set query_statistics_max_entries 10000");
      RestAssured.get("/fhir/Patient?_count=1").then().statusCode(200);
      RestAssured.get("/fhir/AuditEvent?_count=1&date=ge2026").then().statusCode(200);
      RestAssured.given()
          .contentType("application/fhir+json")
          .body("{\"resourceType\":\"Patient\"}")
          .post("/fhir/Patient")
          .then()
          .statusCode(201);
      trail.catchUpAll();
      Set<String> ofTheTrail = new TreeSet<>();
      try (ResultSet sent =
          sql.executeQuery("select sql_statement from information_schema.query_statistics")) {
        while (sent.next()) {
          String statement = sent.getString(1);
          assertEquals(java.util.List.of(), ClinicTies.untied(statement), statement);
          if (statement.contains("audit_")) {
            ofTheTrail.add(statement);
          }
        }
      }
      sql.execute("set query_statistics false");
      assertTrue(ofTheTrail.size() >= 6, ofTheTrail.toString());
    }
  }
}
