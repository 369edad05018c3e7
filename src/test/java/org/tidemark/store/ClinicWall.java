package org.tidemark.store;

import io.quarkus.hibernate.orm.PersistenceUnitExtension;
import jakarta.inject.Singleton;
import java.util.List;
import java.util.Set;
import java.util.concurrent.ConcurrentHashMap;
import org.hibernate.resource.jdbc.spi.StatementInspector;

/**
 * Stands in every test of the running service between it and its database: a statement that touches
 * a table without naming the clinic fails, and with it the request and its test. What the trail
 * sends past Hibernate is looked at by {@code ClinicsApartTest}.
 */
@Singleton
@PersistenceUnitExtension(ChosenDatabase.H2)
@PersistenceUnitExtension(ChosenDatabase.POSTGRESQL)
public class ClinicWall implements StatementInspector {
  private static final long serialVersionUID = 1L;

  private static final Set<String> GOOD = ConcurrentHashMap.newKeySet();

  @Override
  public String inspect(String sql) {
    if (!GOOD.contains(sql)) {
      List<String> untied = ClinicTies.untied(sql);
      if (!untied.isEmpty()) {
        throw new IllegalStateException("no clinic for " + untied + ": " + sql);
      }
      GOOD.add(sql);
    }
    return sql;
  }

  /** How many different statements have passed. */
  static int passed() {
    return GOOD.size();
  }
}
