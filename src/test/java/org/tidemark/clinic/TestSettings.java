package org.tidemark.clinic;

import io.quarkus.runtime.configuration.LocaleConverter;
import io.quarkus.runtime.configuration.ZoneIdConverter;
import io.smallrye.config.PropertiesConfigSource;
import io.smallrye.config.SmallRyeConfig;
import io.smallrye.config.SmallRyeConfigBuilder;
import java.time.ZoneId;
import java.util.HashMap;
import java.util.Locale;
import java.util.Map;

/** Settings of a service that does not run: those of one clinic at this machine, and others. */
public final class TestSettings {
  private TestSettings() {}

  /** The settings with these set otherwise: name, value, name, value. */
  public static SmallRyeConfig with(String... pairs) {
    Map<String, String> settings = new HashMap<>();
    settings.put("quarkus.http.host", "127.0.0.1");
    settings.put("tidemark.base-url", "http://localhost:8080/fhir");
    settings.put("tidemark.clinic", "default");
    settings.put("tidemark.organisation", "A clinic");
    settings.put("tidemark.language", "en");
    settings.put("tidemark.time-zone", "UTC");
    for (int i = 0; i < pairs.length; i += 2) {
      settings.put(pairs[i], pairs[i + 1]);
    }
    return new SmallRyeConfigBuilder()
        .withConverter(Locale.class, 100, new LocaleConverter())
        .withConverter(ZoneId.class, 100, new ZoneIdConverter())
        .withSources(new PropertiesConfigSource(settings, "test", 500))
        .build();
  }
}
