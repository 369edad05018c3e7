package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.agroal.api.AgroalDataSource;
import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.sql.Connection;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.Map;
import org.hibernate.StatelessSession;
import org.junit.jupiter.api.Test;
import org.tidemark.clinic.ActingClinic;

/**
 * What PostgreSQL keeps apart by itself, when a statement has forgotten its clinic: such statements
 * are sent here past everything else, as a plain role that owns the tables.
 */
@QuarkusTest
@TestProfile(RowSecurityTest.TwoClinics.class)
class RowSecurityTest {
  /** SQLSTATE 42501, insufficient_privilege: "new row violates row-level security policy". */
  private static final String REFUSED = "42501";

  /** Two clinics on a PostgreSQL. */
  public static final class TwoClinics implements QuarkusTestProfile {
    @Override
    public Map<String, String> getConfigOverrides() {
      return Map.of(
          "tidemark.database.url",
          PostgresServer.newDatabase(),
          "tidemark.database.user",
          PostgresServer.USER,
          "tidemark.clinics",
          "default,north");
    }
  }

  @Inject StatelessSession session;
  @Inject AgroalDataSource database;
  @Inject SweepStore sweep;

  private long rows(String clinic, String table) {
    return ActingClinic.call(
        clinic,
        () ->
            QuarkusTransaction.requiringNew()
                .call(() -> session.doReturningWork(connection -> count(connection, table))));
  }

  private static long count(Connection connection, String table) throws SQLException {
    try (Statement sql = connection.createStatement();
        ResultSet number = sql.executeQuery("select count(*) from " + table)) {
      number.next();
      return number.getLong(1);
    }
  }

  private void write(String clinic, String statement) {
    ActingClinic.during(
        clinic,
        () ->
            QuarkusTransaction.requiringNew()
                .run(
                    () ->
                        session.doWork(
                            connection -> {
                              try (Statement sql = connection.createStatement()) {
                                sql.execute(statement);
                              }
                            })));
  }

  private static String state(Throwable error) {
    return error instanceof SQLException sql ? sql.getSQLState() : state(error.getCause());
  }

  @Test
  void aStatementWithoutAClinicSeesItsOwnRowsOnly() throws SQLException {
    write("default", "delete from paper_due");
    write("north", "delete from paper_due");
    write("default", "insert into paper_due values ('default', 'p', 1, 1), ('default', 'q', 1, 1)");
    write("north", "insert into paper_due values ('north', 'p', 1, 1)");
    assertEquals(2, rows("default", "paper_due"));
    assertEquals(1, rows("north", "paper_due"));
    write("north", "delete from paper_due");
    write("north", "update paper_due set due_ms = 9");
    assertEquals(2, rows("default", "paper_due"));
    assertEquals(0, rows("north", "paper_due"));
    assertEquals(2, rows("default", "paper_due where due_ms = 1"));
  }

  @Test
  void aRowOfAnotherClinicCannotBeWritten() {
    String theirs = "insert into paper_due values ('default', 'planted', 1, 1)";
    assertEquals(
        REFUSED, state(assertThrows(RuntimeException.class, () -> write("north", theirs))));
    write("north", "insert into paper_due values ('north', 'mine', 1, 1)");
    String moved = "update paper_due set clinic = 'default' where plan_id = 'mine'";
    assertEquals(REFUSED, state(assertThrows(RuntimeException.class, () -> write("north", moved))));
    assertEquals(0, rows("default", "paper_due where plan_id in ('planted', 'mine')"));
  }

  /** The definitions that come with the service are there for each, and for none beyond. */
  @Test
  void whatRunsForNoClinicSeesNothing() throws SQLException {
    assertTrue(rows("default", "resource_current") > 0);
    assertTrue(rows("north", "resource_current") > 0);
    try (Connection connection = database.getConnection()) {
      assertEquals(0, count(connection, "resource_current"));
    }
  }

  /** The connection goes back to the pool without the clinic of the transaction before. */
  @Test
  void aConnectionForgetsItsClinicWithTheTransaction() throws SQLException {
    for (int i = 0; i < 40; i++) {
      rows("default", "resource_current");
    }
    try (Connection connection = database.getConnection();
        Statement sql = connection.createStatement();
        ResultSet setting = sql.executeQuery("select current_setting('tidemark.clinic', true)")) {
      setting.next();
      assertTrue(setting.getString(1) == null || setting.getString(1).isEmpty());
    }
  }

  @Test
  void workWithoutAClinicFails() {
    assertThrows(
        IllegalStateException.class, () -> QuarkusTransaction.requiringNew().run(sweep::listAll));
    assertThrows(
        RuntimeException.class,
        () ->
            QuarkusTransaction.requiringNew()
                .run(() -> session.doWork(connection -> count(connection, "plan"))));
  }

  @Test
  void theRoleIsHeldByTheSecurity() throws SQLException {
    try (Connection connection = database.getConnection()) {
      assertEquals(
          0,
          count(
              connection, "pg_roles where rolname = current_user and (rolsuper or rolbypassrls)"));
    }
  }
}
