package org.tidemark.signin;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.runtime.configuration.ConfigurationException;
import io.smallrye.config.SmallRyeConfig;
import java.util.Arrays;
import java.util.Map;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.clinic.Clinics;
import org.tidemark.clinic.TestSettings;
import org.tidemark.http.AccessSettingsTest;

/** Nobody signs in over a line that others can read, or where nobody needs to. */
class SignInSettingsTest {
  private static final String[] SMART = {
    "tidemark.access", "smart",
    "tidemark.smart.issuer", "https://id.example",
    "tidemark.smart.jwks", "https://id.example/jwks",
    "tidemark.smart.token-endpoint", "https://id.example/token",
    "tidemark.base-url", "https://clinic.example/fhir/",
    "tidemark.pages.client-id", "pages"
  };

  private static SignInSettings of(String[] settings, String... more) {
    String[] all = Arrays.copyOf(settings, settings.length + more.length);
    System.arraycopy(more, 0, all, settings.length, more.length);
    SmallRyeConfig config = TestSettings.with(all);
    return new SignInSettings(config, AccessSettingsTest.of(all), new Clinics(config));
  }

  @Test
  void whoIsNotRegisteredSignsNobodyIn() {
    assertFalse(of(new String[0]).isOn());
    assertFalse(of(SMART, "tidemark.pages.client-id", " ").isOn());
    assertTrue(of(SMART).isOn());
  }

  @ParameterizedTest
  @CsvSource({
    "tidemark.base-url, http://clinic.example/fhir",
    "tidemark.smart.issuer, http://id.example",
    "tidemark.smart.token-endpoint, http://id.example/token",
    "tidemark.smart.token-endpoint, file:///token",
    "tidemark.smart.authorization-endpoint, http://id.example/authorize",
    "tidemark.pages.end-session-endpoint, http://id.example/logout"
  })
  void whatOthersCanReadIsRefused(String setting, String address) {
    String said =
        assertThrows(ConfigurationException.class, () -> of(SMART, setting, address)).getMessage();
    assertTrue(said.contains(setting) && said.contains("https"), said);
    of(SMART, setting, "https://some.example/x");
    of(SMART, setting, "http://localhost:9/x");
  }

  @Test
  void whereAccessIsOpenNobodyNeedsTo() {
    String[] open = {"tidemark.pages.client-id", "pages"};
    assertThrows(ConfigurationException.class, () -> of(open));
    assertThrows(
        ConfigurationException.class,
        () -> of(open, "tidemark.access", "smart", "tidemark.sandbox", "true"));
  }

  @Test
  void furtherParametersAreNamesWithValues() {
    assertEquals(
        Map.of("audience", "a=b", "resource", ""),
        of(SMART, "tidemark.pages.parameters", "audience=a=b, resource=").parameters());
    assertThrows(
        ConfigurationException.class, () -> of(SMART, "tidemark.pages.parameters", "audience"));
  }
}
