package org.tidemark.operation;

import io.smallrye.config.PropertiesConfigSource;
import io.smallrye.config.SmallRyeConfig;
import io.smallrye.config.SmallRyeConfigBuilder;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.net.URL;
import java.nio.file.Files;
import java.nio.file.Path;
import org.tidemark.store.ChosenDatabase;
import org.tidemark.store.EmbeddedFile;

/**
 * The settings of the service, for a command that runs beside it: from the environment, system
 * properties, {@code config/application.properties} and what the service brings itself.
 */
final class Settings {
  private static final String OWN = "application.properties";
  private static final int ORDINAL_OF_FILE = 260;
  private static final int ORDINAL_OF_OWN = 250;

  private final SmallRyeConfig config;

  private Settings(SmallRyeConfig config) {
    this.config = config;
  }

  static Settings read() {
    try {
      SmallRyeConfigBuilder builder =
          new SmallRyeConfigBuilder().addDefaultSources().addDefaultInterceptors();
      URL own = Settings.class.getClassLoader().getResource(OWN);
      builder.withSources(new PropertiesConfigSource(own, ORDINAL_OF_OWN));
      Path file = Path.of("config", OWN);
      if (Files.exists(file)) {
        builder.withSources(new PropertiesConfigSource(file.toUri().toURL(), ORDINAL_OF_FILE));
      }
      return new Settings(builder.build());
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  /** Whether the records lie in PostgreSQL. */
  boolean isServer() {
    return config.getOptionalValue(ChosenDatabase.URL, String.class).isPresent();
  }

  /** The folder of the embedded database. */
  Path data() {
    return Path.of(config.getValue("tidemark.data", String.class));
  }

  EmbeddedFile database() {
    return new EmbeddedFile(data());
  }
}
