package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.runtime.configuration.ConfigurationException;
import io.quarkus.runtime.configuration.LocaleConverter;
import io.quarkus.runtime.configuration.ZoneIdConverter;
import io.smallrye.config.PropertiesConfigSource;
import io.smallrye.config.SmallRyeConfig;
import io.smallrye.config.SmallRyeConfigBuilder;
import java.time.ZoneId;
import java.util.HashMap;
import java.util.Locale;
import java.util.Map;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.clinic.Clinics;

/** Nothing that would let in more than was meant starts; each refusal names the setting. */
public class AccessSettingsTest {
  private static final String[] SMART = {
    "tidemark.access", "smart",
    "tidemark.smart.issuer", "https://id.example",
    "tidemark.smart.jwks", "https://id.example/jwks",
    "tidemark.smart.token-endpoint", "https://id.example/token",
    "tidemark.base-url", "https://clinic.example/fhir/",
    "quarkus.http.host", "0.0.0.0"
  };

  /** What a service with these settings is told. */
  public static AccessSettings of(String... pairs) {
    SmallRyeConfig config = config(pairs);
    return new AccessSettings(config, new Clinics(config));
  }

  /** The settings of a service at its machine, with some replaced. */
  public static SmallRyeConfig config(String... pairs) {
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

  private static String refusal(String... pairs) {
    return assertThrows(ConfigurationException.class, () -> of(pairs)).getMessage();
  }

  private static String[] with(String[] settings, String... more) {
    String[] all = java.util.Arrays.copyOf(settings, settings.length + more.length);
    System.arraycopy(more, 0, all, settings.length, more.length);
    return all;
  }

  @ParameterizedTest
  @ValueSource(strings = {"127.0.0.1", "127.1.2.3", "localhost", "::1"})
  void openAccessStartsAtTheMachineItself(String host) {
    assertTrue(!of("quarkus.http.host", host).smart());
  }

  @ParameterizedTest
  @ValueSource(strings = {"0.0.0.0", "::", "192.168.1.7", "clinic.example", "127.0.0.1.example"})
  void openAccessDoesNotStartWhereOthersReachIt(String host) {
    String said = refusal("quarkus.http.host", host);
    assertTrue(said.contains(host) && said.contains("tidemark.access=smart"), said);
  }

  /** A proxy before it lets others in. */
  @Test
  void openAccessDoesNotStartBehindAnAddressOfOthers() {
    assertTrue(refusal("tidemark.base-url", "https://clinic.example/fhir").contains("base-url"));
  }

  @Test
  void withTokensItStartsAnywhere() {
    AccessSettings settings = of(SMART);
    assertTrue(settings.smart());
    assertEquals(
        "https://clinic.example/fhir", AccessSettings.audience(new Clinics(config(SMART)).home()));
    assertEquals("https://id.example", settings.issuer());
  }

  @ParameterizedTest
  @ValueSource(
      strings = {"tidemark.smart.issuer", "tidemark.smart.jwks", "tidemark.smart.token-endpoint"})
  void withTokensItNeedsToKnowWhoseTokens(String missing) {
    assertTrue(refusal(with(SMART, missing, " ")).contains(missing));
  }

  @ParameterizedTest
  @CsvSource({
    "https://id.example/jwks, true",
    "http://127.0.0.1:9/jwks, true",
    "/etc/tidemark/jwks.json, true",
    "http://id.example/jwks, false"
  })
  void keysDoNotComeOverAnOpenLine(String jwks, boolean taken) {
    String[] settings = with(SMART, "tidemark.smart.jwks", jwks);
    if (taken) {
      assertEquals(jwks, of(settings).jwks());
    } else {
      assertTrue(refusal(settings).contains("https"));
    }
  }

  @Test
  void theSandboxIsItsOwnIssuerAtTheMachineItself() {
    AccessSettings settings = of("tidemark.access", "smart", "tidemark.sandbox", "true");
    assertEquals("http://localhost:8080/auth", settings.issuer());
    assertEquals("http://localhost:8080/auth/token", settings.tokenEndpoint());
    assertTrue(
        refusal(
                "tidemark.access",
                "smart",
                "tidemark.sandbox",
                "true",
                "quarkus.http.host",
                "0.0.0.0")
            .contains("sandbox"));
    assertTrue(
        refusal(with(SMART, "tidemark.sandbox", "true", "quarkus.http.host", "::1"))
            .contains("must not be set"));
    assertTrue(refusal("tidemark.sandbox", "true").contains("tidemark.access=smart"));
  }

  @Test
  void anythingElseIsNoAccess() {
    assertTrue(refusal("tidemark.access", "none").contains("open or smart"));
  }
}
