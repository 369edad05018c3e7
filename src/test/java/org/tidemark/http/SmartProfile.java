package org.tidemark.http;

import io.quarkus.test.common.QuarkusTestResourceLifecycleManager;
import io.quarkus.test.junit.QuarkusTestProfile;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.Map;
import org.eclipse.microprofile.config.ConfigProvider;
import org.jose4j.jwk.JsonWebKey.OutputControlLevel;
import org.jose4j.jwk.PublicJsonWebKey;
import org.jose4j.lang.JoseException;

/** The service with access by tokens of an issuer whose key is made for the run. */
public final class SmartProfile implements QuarkusTestProfile {
  private static final String KEY = "test.issuer-key";

  @Override
  public List<TestResourceEntry> testResources() {
    return List.of(new TestResourceEntry(Keys.class));
  }

  /** Makes the key and tells the service and the tests of it. */
  public static final class Keys implements QuarkusTestResourceLifecycleManager {
    @Override
    public Map<String, String> start() {
      Issuer issuer = new Issuer("ES384", "of-the-test");
      try {
        Path jwks = Files.createTempFile("jwks", ".json");
        jwks.toFile().deleteOnExit();
        Files.writeString(jwks, Issuer.jwks(issuer));
        return Map.of(
            "tidemark.access",
            "smart",
            "tidemark.smart.issuer",
            Issuer.NAME,
            "tidemark.smart.token-endpoint",
            Issuer.NAME + "/token",
            "tidemark.smart.authorization-endpoint",
            Issuer.NAME + "/authorize",
            "tidemark.smart.jwks",
            jwks.toString(),
            KEY,
            issuer.key.toJson(OutputControlLevel.INCLUDE_PRIVATE));
      } catch (IOException e) {
        throw new UncheckedIOException(e);
      }
    }

    @Override
    public void stop() {}
  }

  /** A token that the service takes. */
  static String token(String scopes, String patient) {
    return token(scopes, patient == null ? Map.of() : Map.of("patient", patient));
  }

  /** A token that the service takes, with further claims. */
  static String token(String scopes, Map<String, Object> more) {
    org.jose4j.jwt.JwtClaims claims = Issuer.claims(scopes, null);
    claims.setExpirationTimeMinutesInTheFuture(60);
    more.forEach(claims::setClaim);
    try {
      String key = ConfigProvider.getConfig().getValue(KEY, String.class);
      return Issuer.sign(claims, "ES384", PublicJsonWebKey.Factory.newPublicJwk(key));
    } catch (JoseException e) {
      throw new IllegalStateException(e);
    }
  }
}
