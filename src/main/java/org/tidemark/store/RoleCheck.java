package org.tidemark.store;

import io.agroal.api.AgroalDataSource;
import io.quarkus.runtime.StartupEvent;
import io.quarkus.runtime.configuration.ConfigurationException;
import jakarta.annotation.Priority;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.sql.Connection;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.Optional;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.jboss.logging.Logger;
import org.tidemark.clinic.Clinics;

/**
 * Sees to it that PostgreSQL's row-level security holds for the service's own role. A superuser and
 * a role with BYPASSRLS pass it by: where several clinics are served the service does not start
 * then.
 */
@ApplicationScoped
class RoleCheck {
  private static final Logger LOG = Logger.getLogger(RoleCheck.class);

  /** Before anything is read or written. */
  private static final int FIRST = 1;

  private static final String PASSES_BY =
      "select rolsuper or rolbypassrls from pg_roles where rolname = current_user";

  private final AgroalDataSource database;
  private final Clinics clinics;
  private final boolean server;

  RoleCheck(
      AgroalDataSource database,
      Clinics clinics,
      @ConfigProperty(name = ChosenDatabase.URL) Optional<String> url) {
    this.database = database;
    this.clinics = clinics;
    this.server = url.filter(address -> !address.isBlank()).isPresent();
  }

  void check(@Observes @Priority(FIRST) StartupEvent start) throws SQLException {
    if (!server || !passesBy()) {
      return;
    }
    String why =
        "The role of tidemark.database.user is a superuser or has BYPASSRLS, so that PostgreSQL does"
            + " not keep clinics apart by itself";
    if (clinics.all().size() > 1) {
      throw new ConfigurationException(why + ": several are served, which need a plain role.");
    }
    LOG.warn(why + ".");
  }

  private boolean passesBy() throws SQLException {
    try (Connection connection = database.getConnection();
        Statement sql = connection.createStatement();
        ResultSet answer = sql.executeQuery(PASSES_BY)) {
      return answer.next() && answer.getBoolean(1);
    }
  }
}
