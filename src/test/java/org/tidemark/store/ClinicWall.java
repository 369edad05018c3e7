package org.tidemark.store;

import io.quarkus.hibernate.orm.PersistenceUnitExtension;
import jakarta.inject.Singleton;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.concurrent.ConcurrentHashMap;
import java.util.concurrent.CopyOnWriteArrayList;
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

  private static volatile Optional<List<String>> heard = Optional.empty();

  @Override
  public String inspect(String sql) {
    if (!GOOD.contains(sql)) {
      List<String> untied = ClinicTies.untied(sql);
      if (!untied.isEmpty()) {
        throw new IllegalStateException("no clinic for " + untied + ": " + sql);
      }
      GOOD.add(sql);
    }
    heard.ifPresent(listening -> listening.add(sql));
    return sql;
  }

  /** The statements that pass from now on, in order, until somebody else listens. */
  public static List<String> listen() {
    List<String> mine = new CopyOnWriteArrayList<>();
    heard = Optional.of(mine);
    return mine;
  }

  /** Nobody listens any more. */
  public static void listenNoMore() {
    heard = Optional.empty();
  }

  /** How many different statements have passed. */
  static int passed() {
    return GOOD.size();
  }
}
