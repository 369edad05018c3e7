package org.tidemark.http;

import com.code_intelligence.jazzer.junit.FuzzTest;
import com.code_intelligence.jazzer.mutation.annotation.NotNull;
import io.smallrye.config.SmallRyeConfig;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.net.URI;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.Clock;
import java.util.Base64;
import org.junit.jupiter.api.Assertions;
import org.tidemark.access.Scope;
import org.tidemark.clinic.Clinics;
import org.tidemark.clinic.TestSettings;
import org.tidemark.fhir.Problem;

/** Access tokens as texts, and as headers and claims that nobody has signed. None is taken. */
class TokenFuzzTest {
  private static final AccessTokens TOKENS = tokens();

  private static AccessTokens tokens() {
    try {
      Path jwks = Files.createTempFile("jwks", ".json");
      jwks.toFile().deleteOnExit();
      Files.writeString(jwks, Issuer.jwks(new Issuer("ES384", "a"), new Issuer("RS256", "b")));
      return tokens(
          TestSettings.with(
              "tidemark.access",
              "smart",
              "tidemark.smart.issuer",
              Issuer.NAME,
              "tidemark.smart.token-endpoint",
              Issuer.NAME + "/token",
              "tidemark.smart.jwks",
              jwks.toString(),
              "tidemark.base-url",
              Issuer.AUDIENCE));
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  private static AccessTokens tokens(SmallRyeConfig config) {
    Clinics clinics = new Clinics(config);
    AccessSettings settings = new AccessSettings(config, clinics);
    Clock clock = Clock.systemUTC();
    return new AccessTokens(
        settings, new IssuerKeys(settings, null, TokenFuzzTest::nobody, clock), clinics, clock);
  }

  private static String nobody(URI at) throws IOException {
    throw new IOException("the keys lie in a file, not at " + at);
  }

  @FuzzTest(maxDuration = "60s")
  void noTokenIsTaken(@NotNull String head, @NotNull String claims, @NotNull String signature) {
    refused(head);
    refused(head + "." + claims + "." + signature);
    refused(encoded(head) + "." + encoded(claims) + "." + encoded(signature));
    for (String algorithm : new String[] {"none", "HS256", "RS256", "ES384"}) {
      String known = "{\"alg\":\"" + algorithm + "\",\"kid\":\"a\"}";
      refused(encoded(known) + "." + encoded(claims) + "." + encoded(signature));
    }
    Scope.parse(claims);
  }

  private static String encoded(String text) {
    return Base64.getUrlEncoder()
        .withoutPadding()
        .encodeToString(text.getBytes(StandardCharsets.UTF_8));
  }

  private static void refused(String token) {
    try {
      TOKENS.verify(token);
    } catch (Problem refused) {
      Assertions.assertEquals(401, refused.status());
      return;
    }
    Assertions.fail("a token was taken that nobody has signed: " + token);
  }
}
