package org.tidemark.exchange;

import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.smallrye.config.SmallRyeConfig;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.clinic.Clinics;
import org.tidemark.clinic.TestSettings;
import org.tidemark.http.AccessSettingsTest;

/** Whom a setting would trust by mistake ends the start. */
class TrustedCallersTest {
  private static void start(String trusted) {
    String[] settings = {
      "tidemark.access", "smart",
      "tidemark.smart.issuer", "https://id.example",
      "tidemark.smart.jwks", "https://id.example/jwks",
      "tidemark.smart.token-endpoint", "https://id.example/token",
      "tidemark.hooks.trusted", trusted
    };
    SmallRyeConfig config = TestSettings.with(settings);
    new TrustedCallers(
        new KeySets(null), new Clinics(config), AccessSettingsTest.of(settings), null);
  }

  @ParameterizedTest
  @CsvSource({
    "https://record.example, is a list",
    "|https://record.example/jwks, is a list",
    "https://record.example|http://record.example/jwks, by https or from a file",
    "https://record.example|/nowhere/jwks.json, cannot be read",
    "https://id.example|https://id.example/jwks, issues access tokens"
  })
  void whatIsNotSafeDoesNotStart(String trusted, String why) {
    String said = assertThrows(RuntimeException.class, () -> start(trusted)).getMessage();
    assertTrue(said.contains("tidemark.hooks.trusted") && said.contains(why), said);
  }

  @Test
  void severalAreNamedWithTheirKeys() {
    start("https://a.example|https://a.example/jwks, https://b.example|http://localhost:9/jwks");
  }
}
