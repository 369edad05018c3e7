package org.tidemark.http;

import io.quarkus.test.common.QuarkusTestResourceLifecycleManager;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.restassured.RestAssured;
import io.restassured.builder.RequestSpecBuilder;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import org.eclipse.microprofile.config.ConfigProvider;
import org.jose4j.jwk.JsonWebKey.OutputControlLevel;

/**
 * The service with an issuer at which clinicians sign in, for two clinics: {@code default} at
 * localhost, and {@code north} at 127.0.0.1 behind a proxy that ends TLS.
 */
public final class SignInProfile implements QuarkusTestProfile {
  private static final String ISSUER = "tidemark.smart.issuer";

  @Override
  public List<TestResourceEntry> testResources() {
    return List.of(new TestResourceEntry(Started.class));
  }

  /** Starts the issuer and tells the service of it. */
  public static final class Started implements QuarkusTestResourceLifecycleManager {
    private IssuerServer issuer;

    @Override
    public Map<String, String> start() {
      issuer = new IssuerServer();
      Map<String, String> settings = new HashMap<>(settings(issuer));
      settings.put("tidemark.smart.clinic-claim", "clinic");
      settings.put("tidemark.clinics", "default,north");
      settings.put("tidemark.clinics.north.base-url", IssuerServer.NORTH_BASE);
      settings.put("tidemark.clinics.north.organisation", "The clinic in the north");
      settings.put("test.issuer-key", issuer.key().key.toJson(OutputControlLevel.INCLUDE_PRIVATE));
      return settings;
    }

    @Override
    public void stop() {
      issuer.stop();
    }
  }

  /** What a service of one clinic is told of an issuer. */
  static Map<String, String> settings(IssuerServer issuer) {
    return Map.of(
        "tidemark.access",
        "smart",
        ISSUER,
        issuer.name(),
        "tidemark.smart.token-endpoint",
        issuer.name() + "/token",
        "tidemark.smart.jwks",
        issuer.name() + "/jwks",
        "tidemark.pages.client-id",
        IssuerServer.CLIENT,
        "tidemark.pages.client-secret",
        IssuerServer.SECRET,
        "tidemark.pages.parameters",
        "resource=plans");
  }

  static String issuer() {
    return ConfigProvider.getConfig().getValue(ISSUER, String.class);
  }

  /** A token of the issuer for a record system of the clinic {@code default}. */
  static String token(String scopes, Map<String, Object> more) {
    Map<String, Object> claims = new HashMap<>(Map.of("iss", issuer(), "clinic", "default"));
    claims.putAll(more);
    return SmartProfile.token(scopes, claims);
  }

  /** What {@link PlanPerson} sends is from a record system of the clinic {@code default}. */
  static void sends() {
    PlanPerson.token = token("system/*.cruds", Map.of());
    RestAssured.requestSpecification =
        new RequestSpecBuilder().addHeader("Authorization", "Bearer " + PlanPerson.token).build();
  }
}
