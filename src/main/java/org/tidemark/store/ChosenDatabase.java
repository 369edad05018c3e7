package org.tidemark.store;

import io.smallrye.config.ConfigSourceContext;
import io.smallrye.config.ConfigSourceFactory;
import io.smallrye.config.ConfigValue;
import io.smallrye.config.PropertiesConfigSource;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.OptionalInt;
import org.eclipse.microprofile.config.spi.ConfigSource;

/**
 * Makes one setting decide which database the service uses: PostgreSQL when {@code
 * tidemark.database.url} has its address, else H2 in the data folder. Quarkus fixes the kind of a
 * datasource when it builds; so both are built in, and this has one of them started.
 */
public final class ChosenDatabase implements ConfigSourceFactory {
  /** The setting that has the address. */
  public static final String URL = "tidemark.database.url";

  /** The embedded database: the name of its datasource and persistence unit. */
  static final String H2 = "h2";

  /** The other one. */
  static final String POSTGRESQL = "postgresql";

  /** Above the service's own properties (250), below the system's (400) and the environment's. */
  private static final int ORDINAL = 275;

  /** For the service loader. */
  public ChosenDatabase() {}

  @Override
  public Iterable<ConfigSource> getConfigSources(ConfigSourceContext context) {
    ConfigValue url = context.getValue(URL);
    return List.of(
        new PropertiesConfigSource(
            settings(url == null || url.getValue() == null ? "" : url.getValue().strip()),
            "chosen database",
            ORDINAL));
  }

  @Override
  public OptionalInt getPriority() {
    return OptionalInt.of(ORDINAL);
  }

  /** What an address sets. */
  static Map<String, String> settings(String url) {
    if (!url.isEmpty() && !url.startsWith("jdbc:postgresql:")) {
      throw new IllegalArgumentException(
          URL + " must begin with jdbc:postgresql: or be empty for the embedded database");
    }
    Map<String, String> settings = new HashMap<>();
    for (String name : List.of(H2, POSTGRESQL)) {
      String active = Boolean.toString(name.equals(POSTGRESQL) != url.isEmpty());
      settings.put("quarkus.datasource." + name + ".active", active);
      settings.put("quarkus.hibernate-orm." + name + ".active", active);
    }
    return settings;
  }
}
