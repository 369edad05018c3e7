package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertDoesNotThrow;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.agroal.api.AgroalDataSource;
import io.agroal.api.configuration.supplier.AgroalDataSourceConfigurationSupplier;
import io.agroal.api.security.NamePrincipal;
import io.quarkus.runtime.StartupEvent;
import io.quarkus.runtime.configuration.ConfigurationException;
import java.sql.Connection;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.Optional;
import org.junit.jupiter.api.AfterAll;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.clinic.Clinics;
import org.tidemark.clinic.TestSettings;

/**
 * Several clinics are not served under a role that passes PostgreSQL's row-level security by. Each
 * role is that of a connection to a real server.
 */
class RoleCheckTest {
  private static final String BYPASSING = "bypassing";
  private static final String FOLLOWER = "follower";

  private static String url;

  @BeforeAll
  static void roles() throws SQLException {
    url = PostgresServer.newDatabase();
    admin(
        "create role " + BYPASSING + " login bypassrls",
        "create role " + FOLLOWER + " login in role " + BYPASSING);
  }

  @AfterAll
  static void noRoles() throws SQLException {
    admin("drop role " + FOLLOWER, "drop role " + BYPASSING);
  }

  private static void admin(String... statements) throws SQLException {
    try (AgroalDataSource database = database(PostgresServer.ADMIN);
        Connection connection = database.getConnection();
        Statement sql = connection.createStatement()) {
      for (String statement : statements) {
        sql.execute(statement);
      }
    }
  }

  private static AgroalDataSource database(String role) throws SQLException {
    return AgroalDataSource.from(
        new AgroalDataSourceConfigurationSupplier()
            .connectionPoolConfiguration(
                pool ->
                    pool.maxSize(1)
                        .connectionFactoryConfiguration(
                            to -> to.jdbcUrl(url).principal(new NamePrincipal(role)))));
  }

  private static void check(String role, String clinics) throws SQLException {
    try (AgroalDataSource database = database(role)) {
      new RoleCheck(
              database,
              new Clinics(TestSettings.with("tidemark.clinics", clinics)),
              Optional.of(url))
          .check(new StartupEvent());
    }
  }

  /** BYPASSRLS is not inherited (PostgreSQL, "Role Attributes"). */
  @ParameterizedTest(name = "{0} and {1}: {2}")
  @CsvSource(
      delimiter = '|',
      value = {
        "tidemark  | default       | true",
        "tidemark  | default,north | true",
        "follower  | default,north | true",
        "bypassing | default       | true",
        "bypassing | default,north | false",
        "postgres  | default       | true",
        "postgres  | default,north | false",
        "postgres  | default,north,south | false"
      })
  void aRoleServesSeveralClinicsOnlyWhenRowSecurityHoldsIt(
      String role, String clinics, boolean starts) {
    if (starts) {
      assertDoesNotThrow(() -> check(role, clinics));
    } else {
      String said =
          assertThrows(ConfigurationException.class, () -> check(role, clinics)).getMessage();
      assertTrue(said.contains("tidemark.database.user") && said.contains("BYPASSRLS"), said);
    }
  }

  /** The embedded database has no roles that could pass anything by, and is not asked. */
  @Test
  void theEmbeddedDatabaseIsNotAsked() {
    Clinics several = new Clinics(TestSettings.with("tidemark.clinics", "default,north"));
    assertEquals(2, several.all().size());
    for (Optional<String> none : java.util.List.of(Optional.<String>empty(), Optional.of(" "))) {
      assertDoesNotThrow(() -> new RoleCheck(null, several, none).check(new StartupEvent()));
    }
  }
}
