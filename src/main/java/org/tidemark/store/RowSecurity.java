package org.tidemark.store;

import io.agroal.api.AgroalPoolInterceptor;
import io.quarkus.agroal.DataSource;
import jakarta.inject.Singleton;
import java.sql.Connection;
import java.sql.PreparedStatement;
import java.sql.SQLException;
import org.tidemark.clinic.ActingClinic;

/**
 * Tells PostgreSQL for which clinic a transaction is, so that its row-level security leaves out
 * what is another's, whatever a statement says. It is told once, when the transaction takes its
 * connection, and ends with the transaction: a connection goes back to the pool without a clinic.
 *
 * <p>What runs outside of a transaction, such as a migration, is for no clinic and sees no row of
 * one.
 */
@Singleton
@DataSource(ChosenDatabase.POSTGRESQL)
class RowSecurity implements AgroalPoolInterceptor {
  private static final String TELL = "select set_config('tidemark.clinic', ?, true)";

  @Override
  public void onConnectionAcquire(Connection connection) {
    try {
      if (!connection.getAutoCommit()) {
        tell(connection, ActingClinic.current());
      }
    } catch (SQLException e) {
      throw new IllegalStateException("the database was not told the clinic", e);
    }
  }

  private static void tell(Connection connection, String clinic) throws SQLException {
    try (PreparedStatement statement = connection.prepareStatement(TELL)) {
      statement.setString(1, clinic);
      statement.execute();
    }
  }
}
