package org.tidemark;

import io.quarkus.test.common.QuarkusTestResource;
import io.quarkus.test.common.QuarkusTestResourceLifecycleManager;
import java.util.Map;
import org.tidemark.store.PostgresServer;

/**
 * Gives every test of the running service the database that {@code -Ddatabase} names: {@code
 * postgresql}, or without it the embedded one.
 */
@QuarkusTestResource(DatabaseUnderTest.class)
public final class DatabaseUnderTest implements QuarkusTestResourceLifecycleManager {
  @Override
  public Map<String, String> start() {
    String database = System.getProperty("database", "h2");
    return switch (database) {
      case "h2" -> Map.of();
      case "postgresql" ->
          Map.of(
              "tidemark.database.url",
              PostgresServer.newDatabase(),
              "tidemark.database.user",
              PostgresServer.USER);
      default -> throw new IllegalArgumentException("no such database: " + database);
    };
  }

  @Override
  public void stop() {}
}
