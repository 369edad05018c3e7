package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.runtime.configuration.ConfigurationException;
import io.smallrye.config.SmallRyeConfig;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.clinic.Clinics;
import org.tidemark.clinic.TestSettings;

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

  static SmallRyeConfig config(String... pairs) {
    return TestSettings.with(pairs);
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
    "HTTPS://id.example/jwks, true",
    "keys/jwks.json, true",
    "http://id.example/jwks, false",
    "HTTP://id.example/jwks, false",
    "http://127.0.0.1@id.example/jwks, false",
    "http://127.0.0.1.id.example/jwks, false",
    "http://10.0.0.1/jwks, false",
    "https:///jwks, false",
    "https:id.example/jwks, false",
    "https://id.exa mple/jwks, false",
    "ftp://id.example/jwks, false",
    "ftp://127.0.0.1/jwks, false",
    "file:///etc/tidemark/jwks.json, false",
    "jar:file:///a.jar!/jwks, false"
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
  void severalClinicsNeedAClaimThatTellsThemApart() {
    String[] several = with(SMART, "tidemark.clinics", "default,north");
    for (String claim : new String[] {"", " "}) {
      String said = refusal(with(several, "tidemark.smart.clinic-claim", claim));
      assertTrue(said.contains("tidemark.smart.clinic-claim"), said);
    }
    assertTrue(refusal(several).contains("tidemark.clinics"));
    assertEquals(
        Optional.of("org"), of(with(several, "tidemark.smart.clinic-claim", "org")).clinicClaim());
    assertTrue(of(with(SMART, "tidemark.clinics", "default")).smart(), "one needs none");
    assertTrue(
        refusal(
                "tidemark.access",
                "smart",
                "tidemark.sandbox",
                "true",
                "tidemark.clinics",
                "default,north")
            .contains("tidemark.smart.clinic-claim"),
        "nor does the sandbox give out tokens for nobody's clinic");
  }

  @Test
  void anythingElseIsNoAccess() {
    assertTrue(refusal("tidemark.access", "none").contains("open or smart"));
  }
}
