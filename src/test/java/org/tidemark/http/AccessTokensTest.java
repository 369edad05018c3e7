package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.smallrye.config.SmallRyeConfig;
import java.io.IOException;
import java.net.URI;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.nio.file.attribute.FileTime;
import java.time.Clock;
import java.time.Duration;
import java.time.Instant;
import java.time.ZoneOffset;
import java.util.ArrayList;
import java.util.Base64;
import java.util.List;
import java.util.Map;
import java.util.TreeMap;
import java.util.concurrent.Callable;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import java.util.function.Consumer;
import org.jose4j.jws.AlgorithmIdentifiers;
import org.jose4j.jws.JsonWebSignature;
import org.jose4j.jwt.JwtClaims;
import org.jose4j.jwt.NumericDate;
import org.jose4j.keys.HmacKey;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.access.Action;
import org.tidemark.clinic.Clinics;
import org.tidemark.clinic.TestSettings;
import org.tidemark.fhir.Problem;

/** Only tokens that the issuer has signed for this endpoint are good, and only for their time. */
class AccessTokensTest {
  private static final String ADDRESS = "https://id.example/jwks";

  private final Issuer issuer = new Issuer("ES384", "one");
  private Instant now = Instant.now();

  /** What lies at the address of the issuer; null while nobody answers there. */
  private volatile String atTheAddress;

  private int fetched;

  @TempDir Path folder;
  private Path jwks;
  private AccessTokens tokens;

  @BeforeEach
  void keys() throws IOException {
    jwks = folder.resolve("jwks.json");
    Files.writeString(jwks, Issuer.jwks(issuer));
    tokens = tokens(jwks.toString());
  }

  private AccessTokens tokens(String from) {
    return tokens(
        TestSettings.with(
            "tidemark.access",
            "smart",
            "tidemark.smart.issuer",
            Issuer.NAME,
            "tidemark.smart.token-endpoint",
            Issuer.NAME + "/token",
            "tidemark.smart.jwks",
            from,
            "tidemark.base-url",
            Issuer.AUDIENCE));
  }

  private AccessTokens tokens(SmallRyeConfig config) {
    Clinics clinics = new Clinics(config);
    AccessSettings settings = new AccessSettings(config, clinics);
    return new AccessTokens(
        settings, new IssuerKeys(settings, null, this::fetch, clock), clinics, clock);
  }

  private synchronized String fetch(URI at) throws IOException {
    assertEquals(ADDRESS, at.toString());
    fetched++;
    if (atTheAddress == null) {
      throw new IOException("nobody answers");
    }
    return atTheAddress;
  }

  private final Clock clock =
      new Clock() {
        @Override
        public ZoneOffset getZone() {
          return ZoneOffset.UTC;
        }

        @Override
        public Clock withZone(java.time.ZoneId zone) {
          return this;
        }

        @Override
        public Instant instant() {
          return now;
        }
      };

  private static void refused(AccessTokens by, String token) {
    Problem problem = assertThrows(Problem.class, () -> by.verify(token));
    assertEquals(401, problem.status());
  }

  private String changed(Consumer<JwtClaims> change) {
    JwtClaims claims = Issuer.claims("user/Goal.rs", null);
    change.accept(claims);
    return issuer.sign(claims);
  }

  private static boolean reads(AccessTokens by, String token) {
    return by.verify(token).grants().orElseThrow().reach(Action.READ, "Goal").isEverything();
  }

  @ParameterizedTest
  @ValueSource(strings = {"RS256", "RS384", "ES256", "ES384"})
  void aGoodTokenGrantsItsScopes(String algorithm) throws IOException {
    Issuer other = new Issuer(algorithm, "other");
    Files.writeString(jwks, Issuer.jwks(issuer, other));
    assertTrue(reads(tokens, other.token("openid user/Goal.rs", (String) null)));
    assertTrue(
        tokens.verify(other.token("user/Goal.r", "p")).grants().orElseThrow().knows("Patient/p"));
  }

  @Test
  void scopesMayBeAListAndTheAudienceOneOfSeveral() {
    assertTrue(
        reads(
            tokens,
            changed(
                claims -> {
                  claims.setStringListClaim("scope", "openid", "user/Goal.rs");
                  claims.setAudience("https://other.example", Issuer.AUDIENCE + "/");
                })));
  }

  @Test
  void whatIsMeantForOthersOrOverIsRefused() {
    assertTrue(reads(tokens, changed(claims -> {})));
    refused(tokens, changed(claims -> claims.setAudience("https://other.example/fhir")));
    refused(tokens, changed(claims -> claims.unsetClaim("aud")));
    refused(tokens, changed(claims -> claims.setIssuer("https://other.example")));
    refused(tokens, changed(claims -> claims.unsetClaim("iss")));
    refused(tokens, changed(claims -> claims.unsetClaim("exp")));
    refused(tokens, changed(claims -> expires(claims, -40)));
    assertTrue(reads(tokens, changed(claims -> expires(claims, -20))), "within 30 s of skew");
    refused(tokens, changed(claims -> claims.setNotBeforeMinutesInThePast(-2)));
  }

  private static void expires(JwtClaims claims, int seconds) {
    NumericDate at = NumericDate.now();
    at.addSeconds(seconds);
    claims.setExpirationTime(at);
    NumericDate issued = NumericDate.now();
    issued.addSeconds(-300);
    claims.setIssuedAt(issued);
  }

  /** RFC 8725, section 3.1: an algorithm is not taken from the token alone. */
  @Test
  void unsignedAndSharedSecretsAreRefused() throws Exception {
    String payload = Issuer.claims("user/*.cruds", null).toJson();
    JsonWebSignature none = new JsonWebSignature();
    none.setPayload(payload);
    none.setAlgorithmConstraints(org.jose4j.jwa.AlgorithmConstraints.NO_CONSTRAINTS);
    none.setAlgorithmHeaderValue(AlgorithmIdentifiers.NONE);
    refused(tokens, none.getCompactSerialization());
    for (byte[] secret :
        new byte[][] {
          issuer.key.getPublicKey().getEncoded(),
          Issuer.jwks(issuer).getBytes(StandardCharsets.UTF_8)
        }) {
      JsonWebSignature shared = new JsonWebSignature();
      shared.setPayload(payload);
      shared.setAlgorithmHeaderValue(AlgorithmIdentifiers.HMAC_SHA256);
      shared.setKeyIdHeaderValue("one");
      shared.setKey(new HmacKey(secret));
      refused(tokens, shared.getCompactSerialization());
    }
  }

  @Test
  void anotherKeyOrAChangedTextIsRefused() {
    refused(tokens, new Issuer("ES384", "one").token("user/Goal.rs", (String) null));
    refused(tokens, new Issuer("ES384", "two").token("user/Goal.rs", (String) null));
    String[] parts = issuer.token("user/Goal.rs", (String) null).split("\\.");
    String more =
        new String(Base64.getUrlDecoder().decode(parts[1]), StandardCharsets.UTF_8)
            .replace("user/Goal.rs", "user/Goal.cruds");
    String forged =
        Base64.getUrlEncoder()
            .withoutPadding()
            .encodeToString(more.getBytes(StandardCharsets.UTF_8));
    refused(tokens, parts[0] + "." + forged + "." + parts[2]);
    refused(tokens, "no.token.atall");
    refused(tokens, "");
    refused(tokens, "a".repeat(10_000));
  }

  @Test
  void aFileOfKeysIsReadAgainWhenItHasChanged() throws IOException {
    String before = issuer.token("user/Goal.rs", (String) null);
    assertTrue(reads(tokens, before));
    Issuer next = new Issuer("RS384", "next");
    String after = next.token("user/Goal.rs", (String) null);
    refused(tokens, after);
    Files.writeString(jwks, Issuer.jwks(next));
    Files.setLastModifiedTime(jwks, FileTime.from(Instant.now().plusSeconds(5)));
    assertTrue(reads(tokens, after));
    refused(tokens, issuer.token("user/Goal.r", (String) null));
  }

  @Test
  void keysAtAnAddressAreFetchedAgainForAKeyThatIsNotKnownButNotForEach() {
    atTheAddress = Issuer.jwks(issuer);
    AccessTokens byAddress = tokens(ADDRESS);
    assertTrue(reads(byAddress, issuer.token("user/Goal.rs", (String) null)));
    assertTrue(reads(byAddress, issuer.token("user/Goal.r", (String) null)));
    assertEquals(1, fetched, "kept");
    Issuer next = new Issuer("ES256", "next");
    atTheAddress = Issuer.jwks(issuer, next);
    assertTrue(reads(byAddress, next.token("user/Goal.rs", (String) null)), "rotated");
    assertEquals(2, fetched);
    for (int i = 0; i < 20; i++) {
      refused(byAddress, new Issuer("ES256", "made-up-" + i).token("user/Goal.rs", "p"));
      refused(byAddress, new Issuer("ES256", "next").token("user/Goal.rs", "p"));
    }
    assertEquals(2, fetched);
    now = now.plusSeconds(60);
    refused(byAddress, new Issuer("ES256", "made-up").token("user/Goal.rs", "p"));
    assertEquals(3, fetched, "once a minute");
  }

  /**
   * Why a token is not good cannot be told by what is done, and so not by how long it takes but for
   * the sum itself: the keys are asked for as often, and the answer is the same.
   */
  @Test
  void badTokensOfAllKindsAreTreatedAlike() {
    Issuer sameName = new Issuer("ES384", "one");
    Map<String, String> bad = new TreeMap<>();
    bad.put("a key that is not known", new Issuer("ES384", "two").token("user/Goal.rs", "p"));
    bad.put("a wrong signature", sameName.token("user/Goal.rs", "p"));
    bad.put("another algorithm", new Issuer("RS256", "one").token("user/Goal.rs", "p"));
    bad.put("another issuer", changed(claims -> claims.setIssuer("https://other.example")));
    bad.put("another audience", changed(claims -> claims.setAudience("https://other.example")));
    bad.put("expired", changed(claims -> expires(claims, -40)));
    bad.put("no token", "no.token.atall");
    bad.forEach(
        (kind, token) -> {
          atTheAddress = Issuer.jwks(issuer);
          fetched = 0;
          AccessTokens byAddress = tokens(ADDRESS);
          assertTrue(reads(byAddress, issuer.token("user/Goal.rs", (String) null)), kind);
          Problem first = assertThrows(Problem.class, () -> byAddress.verify(token), kind);
          Problem again = assertThrows(Problem.class, () -> byAddress.verify(token), kind);
          assertEquals(2, fetched, kind);
          for (Problem problem : List.of(first, again)) {
            assertEquals(401, problem.status(), kind);
            assertEquals(AccessTokens.notGood().getMessage(), problem.getMessage(), kind);
          }
        });
  }

  /** A key that the issuer has taken back is not trusted for more than an hour. */
  @Test
  void keysAtAnAddressAreFetchedAnewAfterAnHour() {
    atTheAddress = Issuer.jwks(issuer);
    AccessTokens byAddress = tokens(ADDRESS);
    assertTrue(reads(byAddress, issuer.token("user/Goal.rs", (String) null)));
    atTheAddress = Issuer.jwks(new Issuer("ES256", "next"));
    now = now.plus(Duration.ofMinutes(59));
    assertTrue(reads(byAddress, changed(claims -> expires(claims, 7200))));
    now = now.plus(Duration.ofMinutes(1));
    refused(byAddress, changed(claims -> expires(claims, 7201)));
    assertEquals(3, fetched, "for the hour, and once for the token");
  }

  @Test
  void whileKeysCannotBeFetchedThoseThatAreKnownHold() {
    AccessTokens byAddress = tokens(ADDRESS);
    refused(byAddress, issuer.token("user/Goal.rs", (String) null));
    refused(byAddress, issuer.token("user/Goal.rs", (String) null));
    assertEquals(1, fetched, "a pause after a failure");
    now = now.plusSeconds(5);
    atTheAddress = Issuer.jwks(issuer);
    assertTrue(reads(byAddress, issuer.token("user/Goal.rs", (String) null)));
    atTheAddress = null;
    now = now.plus(Duration.ofHours(2));
    assertTrue(reads(byAddress, changed(claims -> expires(claims, 10_000))));
    refused(byAddress, new Issuer("ES384", "made-up").token("user/Goal.rs", "p"));
    assertEquals(3, fetched);
  }

  /** Whoever waits for the first keys gets them; whoever has some does not wait for newer ones. */
  @Test
  void manyAtOnceFetchOnce() throws Exception {
    atTheAddress = Issuer.jwks(issuer);
    AccessTokens byAddress = tokens(ADDRESS);
    List<Callable<Boolean>> calls = new ArrayList<>();
    for (int i = 0; i < 32; i++) {
      String token = issuer.token("user/Goal.rs", (String) null);
      calls.add(() -> reads(byAddress, token));
    }
    ExecutorService threads = Executors.newFixedThreadPool(calls.size());
    try {
      for (Future<Boolean> call : threads.invokeAll(calls)) {
        assertTrue(call.get());
      }
    } finally {
      threads.shutdownNow();
    }
    assertEquals(1, fetched);
  }

  /** It is not asked again, and still ends with its time and its seconds of skew. */
  @Test
  void aTokenThatIsKnownStillExpires() throws IOException {
    JwtClaims claims = Issuer.claims("user/Goal.rs", null);
    String token = issuer.sign(claims);
    assertTrue(reads(tokens, token));
    Files.writeString(jwks, Issuer.jwks(new Issuer("ES384", "two")));
    assertTrue(reads(tokens, token), "known by its hash");
    now = now.plus(Duration.ofMinutes(5)).plusSeconds(25);
    assertTrue(reads(tokens, token));
    now = now.plusSeconds(10);
    refused(tokens, token);
    assertFalse(token.isEmpty());
  }
}
