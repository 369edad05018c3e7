package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.sun.net.httpserver.HttpServer;
import io.quarkus.test.common.QuarkusTestResourceLifecycleManager;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.QuarkusTestProfile.TestResourceEntry;
import io.quarkus.test.junit.TestProfile;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.net.InetAddress;
import java.net.InetSocketAddress;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpRequest.BodyPublishers;
import java.net.http.HttpResponse;
import java.net.http.HttpResponse.BodyHandlers;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.Map;
import java.util.UUID;
import java.util.concurrent.Callable;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import java.util.function.Consumer;
import java.util.stream.IntStream;
import org.eclipse.microprofile.config.ConfigProvider;
import org.jose4j.jwa.AlgorithmConstraints;
import org.jose4j.jwk.JsonWebKey.OutputControlLevel;
import org.jose4j.jwk.PublicJsonWebKey;
import org.jose4j.jws.JsonWebSignature;
import org.jose4j.jwt.JwtClaims;
import org.jose4j.jwt.NumericDate;
import org.jose4j.keys.HmacKey;
import org.jose4j.lang.JoseException;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/** Who calls hooks says who it is as CDS Hooks 2.0 has it, section "Trusting CDS Clients". */
@QuarkusTest
@TestProfile(HookClientsTest.Profile.class)
class HookClientsTest {
  private static final String RECORD = "https://record.example/";
  private static final String NORTH_RECORD = "https://north-record.example";
  private static final String HERE = "http://localhost:8081";
  private static final String NORTH = "http://127.0.0.1:8081";
  private static final String SERVICES = "/cds-services";
  private static final String REVIEW = SERVICES + "/plan-review";
  private static final HttpClient CLIENT = HttpClient.newHttpClient();

  /** Two clinics, each of which trusts a record system of its own. */
  public static final class Profile implements QuarkusTestProfile {
    @Override
    public List<TestResourceEntry> testResources() {
      return List.of(
          new TestResourceEntry(SmartProfile.Keys.class),
          new TestResourceEntry(TwoClinics.Settings.class),
          new TestResourceEntry(Trusted.class));
    }
  }

  /** Makes the keys; one system has them in a file, the other at an address. */
  public static final class Trusted implements QuarkusTestResourceLifecycleManager {
    private HttpServer server;

    @Override
    public Map<String, String> start() {
      Issuer ec = new Issuer("ES384", "ec");
      Issuer rsa = new Issuer("RS384", "rsa");
      Issuer north = new Issuer("ES384", "north");
      try {
        Path file = Files.createTempFile("hook-clients", ".json");
        file.toFile().deleteOnExit();
        Files.writeString(file, Issuer.jwks(ec, rsa));
        server = HttpServer.create(new InetSocketAddress(InetAddress.getLoopbackAddress(), 0), 0);
        byte[] keys = Issuer.jwks(north).getBytes(StandardCharsets.UTF_8);
        server.createContext(
            "/jwks",
            exchange -> {
              exchange.sendResponseHeaders(200, keys.length);
              exchange.getResponseBody().write(keys);
              exchange.close();
            });
        server.start();
        String address = "http://localhost:" + server.getAddress().getPort() + "/jwks";
        return Map.of(
            "tidemark.clinics.default.hooks.trusted", RECORD + "|" + file,
            "tidemark.clinics.north.hooks.trusted", NORTH_RECORD + "|" + address,
            "test.hooks.ec", ec.key.toJson(OutputControlLevel.INCLUDE_PRIVATE),
            "test.hooks.rsa", rsa.key.toJson(OutputControlLevel.INCLUDE_PRIVATE),
            "test.hooks.north", north.key.toJson(OutputControlLevel.INCLUDE_PRIVATE));
      } catch (IOException e) {
        throw new UncheckedIOException(e);
      }
    }

    @Override
    public void stop() {
      server.stop(0);
    }
  }

  private static PublicJsonWebKey key(String name) {
    try {
      return PublicJsonWebKey.Factory.newPublicJwk(
          ConfigProvider.getConfig().getValue("test.hooks." + name, String.class));
    } catch (JoseException e) {
      throw new IllegalStateException(e);
    }
  }

  private static JwtClaims claims(String issuer, String audience) {
    JwtClaims claims = new JwtClaims();
    claims.setIssuer(issuer);
    claims.setAudience(audience);
    claims.setExpirationTimeMinutesInTheFuture(5);
    claims.setIssuedAtToNow();
    claims.setJwtId(UUID.randomUUID().toString());
    claims.setClaim("tenant", "2ddd6c3a");
    return claims;
  }

  private static JsonWebSignature signature(JwtClaims claims, String algorithm, String key) {
    JsonWebSignature signed = new JsonWebSignature();
    signed.setPayload(claims.toJson());
    signed.setAlgorithmHeaderValue(algorithm);
    signed.setAlgorithmConstraints(AlgorithmConstraints.NO_CONSTRAINTS);
    signed.setKeyIdHeaderValue(key);
    signed.setHeader("typ", "JWT");
    signed.setKey(key(key).getPrivateKey());
    return signed;
  }

  private static String compact(JsonWebSignature signed) {
    try {
      return signed.getCompactSerialization();
    } catch (JoseException e) {
      throw new IllegalStateException(e);
    }
  }

  private static String token(String audience) {
    return compact(signature(claims(RECORD, audience), "ES384", "ec"));
  }

  private static String changed(Consumer<JwtClaims> change) {
    JwtClaims claims = claims(RECORD, HERE + REVIEW);
    change.accept(claims);
    return compact(signature(claims, "ES384", "ec"));
  }

  private static String headed(Consumer<JsonWebSignature> change) {
    JsonWebSignature signed = signature(claims(RECORD, HERE + REVIEW), "ES384", "ec");
    change.accept(signed);
    return compact(signed);
  }

  private static HttpResponse<String> send(String url, String token, String body) {
    HttpRequest.Builder request =
        HttpRequest.newBuilder(URI.create(url))
            .header("Authorization", "Bearer " + token)
            .header("Content-Type", "application/json")
            .method(
                body == null ? "GET" : "POST",
                body == null ? BodyPublishers.noBody() : BodyPublishers.ofString(body));
    try {
      return CLIENT.send(request.build(), BodyHandlers.ofString());
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    } catch (InterruptedException e) {
      throw new IllegalStateException(e);
    }
  }

  private static HttpResponse<String> review(String host, String token) {
    return send(
        host + REVIEW,
        token,
        """
        {"hookInstance": "%s", "hook": "patient-view",
         "context": {"userId": "Practitioner/ruta-ekberg", "patientId": "nobody-here"},
         "prefetch": {"patient": {"resourceType": "Patient", "id": "nobody-here"}}}"""
            .formatted(UUID.randomUUID()));
  }

  /** The caller has shown who it is; what the hook then answers is another matter. */
  private static boolean isKnown(HttpResponse<String> answer) {
    return answer.statusCode() != 401 && answer.statusCode() != 403;
  }

  // ---- who is let in ----

  @ParameterizedTest
  @CsvSource({"ES384, ec", "RS384, rsa", "RS512, rsa"})
  void aClientIsKnownByItsSignature(String algorithm, String key) {
    HttpResponse<String> answer =
        review(HERE, compact(signature(claims(RECORD, HERE + REVIEW), algorithm, key)));
    assertEquals(200, answer.statusCode(), answer.body());
    assertTrue(answer.body().contains("\"cards\""), answer.body());
  }

  /** "Note that this is for every single CDS Service call, whether that be a Discovery call…" */
  @Test
  void discoveryIsACallToo() {
    assertEquals(200, send(HERE + SERVICES, token(HERE + SERVICES), null).statusCode());
    assertEquals(401, send(HERE + SERVICES, token(HERE + REVIEW), null).statusCode());
  }

  /** "The aud value is either a string or an array of strings." */
  @Test
  void theAudienceMayBeAnArray() {
    assertEquals(
        200,
        review(HERE, changed(c -> c.setAudience("https://elsewhere.example", HERE + REVIEW)))
            .statusCode());
  }

  @ParameterizedTest
  @ValueSource(strings = {REVIEW, REVIEW + "/feedback"})
  void feedbackIsTakenForTheServiceItIsAbout(String audience) {
    String feedback =
        """
        {"feedback": [{"card": "%s", "outcome": "accepted",
          "acceptedSuggestions": [{"id": "%s"}], "outcomeTimestamp": "2026-03-02T10:00:00Z"}]}"""
            .formatted(UUID.randomUUID(), UUID.randomUUID());
    HttpResponse<String> answer =
        send(HERE + REVIEW + "/feedback", token(HERE + audience), feedback);
    assertEquals(200, answer.statusCode(), answer.body());
  }

  @Test
  void keysAreReadWhereTheSettingSays() {
    JwtClaims claims = claims(NORTH_RECORD, NORTH + REVIEW);
    assertEquals(200, review(NORTH, compact(signature(claims, "ES384", "north"))).statusCode());
  }

  @Test
  void theAuditTrailNamesTheClient() {
    String id = UUID.randomUUID().toString();
    HttpRequest request =
        HttpRequest.newBuilder(URI.create(HERE + SERVICES + "/none"))
            .header("Authorization", "Bearer " + token(HERE + SERVICES + "/none"))
            .header("X-Request-ID", id)
            .POST(BodyPublishers.noBody())
            .build();
    try {
      assertEquals(404, CLIENT.send(request, BodyHandlers.ofString()).statusCode());
    } catch (IOException | InterruptedException e) {
      throw new IllegalStateException(e);
    }
    AuditEvents trail = new AuditEvents(TwoClinics.sender("default"));
    assertTrue(PlanPerson.json(trail.ofRequest(id).get(0)).contains(RECORD));
  }

  // ---- who is not ----

  @Test
  void aTokenCountsOnce() throws Exception {
    String token = token(HERE + REVIEW);
    ExecutorService threads = Executors.newFixedThreadPool(8);
    try {
      List<Callable<Integer>> calls =
          IntStream.range(0, 16)
              .<Callable<Integer>>mapToObj(i -> () -> review(HERE, token).statusCode())
              .toList();
      int let = 0;
      for (Future<Integer> call : threads.invokeAll(calls)) {
        let += call.get() == 200 ? 1 : 0;
      }
      assertEquals(1, let);
    } finally {
      threads.shutdownNow();
    }
    assertEquals(401, review(HERE, token).statusCode());
  }

  /** It may see what cards are told from, by cards and in no other way. */
  @ParameterizedTest
  @ValueSource(strings = {"/", "/fhir/Patient", "/fhir/Task", "/guide", "/export/x"})
  void itIsNoAccessToken(String path) {
    assertEquals(401, send(HERE + path, token(HERE + path), null).statusCode());
    assertEquals(401, send(HERE + path, token(HERE + SERVICES), null).statusCode());
    assertEquals(401, send(HERE + path, token(PlanPerson.BASE), null).statusCode());
  }

  @Test
  void anAccessTokenIsTakenAsBefore() {
    assertEquals(200, review(HERE, TwoClinics.token("default")).statusCode());
  }

  private static NumericDate minutesFromNow(int minutes) {
    NumericDate then = NumericDate.now();
    then.addSeconds(60L * minutes);
    return then;
  }

  private static String unsigned() {
    JsonWebSignature none = new JsonWebSignature();
    none.setAlgorithmConstraints(AlgorithmConstraints.NO_CONSTRAINTS);
    none.setPayload(claims(RECORD, HERE + REVIEW).toJson());
    none.setAlgorithmHeaderValue("none");
    none.setKeyIdHeaderValue("ec");
    none.setHeader("typ", "JWT");
    return compact(none);
  }

  private static String byHmac(byte[] secret) {
    return headed(
        signed -> {
          signed.setAlgorithmHeaderValue("HS384");
          signed.setKey(new HmacKey(secret));
        });
  }

  @Test
  void tokensThatAreNotGood() {
    Attack attack = new Attack("CDS Hooks: tokens that are not good");
    Issuer stranger = new Issuer("ES384", "ec");
    Map<String, String> tokens = new java.util.LinkedHashMap<>();
    tokens.put("no alg", unsigned());
    tokens.put("HMAC by the public key", byHmac(key("ec").getPublicKey().getEncoded()));
    tokens.put(
        "HMAC by the key set",
        byHmac(key("ec").toJson(OutputControlLevel.PUBLIC_ONLY).getBytes(StandardCharsets.UTF_8)));
    tokens.put("RS256", compact(signature(claims(RECORD, HERE + REVIEW), "RS256", "rsa")));
    tokens.put("no kid", headed(signed -> signed.setHeader("kid", null)));
    tokens.put("unknown kid", headed(signed -> signed.setKeyIdHeaderValue("other")));
    tokens.put("the kid of another key", headed(signed -> signed.setKeyIdHeaderValue("rsa")));
    tokens.put("no typ", headed(signed -> signed.setHeader("typ", null)));
    tokens.put("another typ", headed(signed -> signed.setHeader("typ", "at+jwt")));
    tokens.put("a stranger's key", headed(signed -> signed.setKey(stranger.key.getPrivateKey())));
    tokens.put(
        "a stranger's jku",
        headed(
            signed -> {
              signed.setKey(stranger.key.getPrivateKey());
              signed.setHeader("jku", "http://127.0.0.1:9/jwks");
            }));
    tokens.put(
        "a stranger's jwk",
        headed(
            signed -> {
              signed.setKey(stranger.key.getPrivateKey());
              signed.setJwkHeader(stranger.key);
            }));
    tokens.put("no iss", changed(claims -> claims.unsetClaim("iss")));
    for (String iss :
        List.of("https://record.example", "https://other.example", "", NORTH_RECORD)) {
      tokens.put("iss " + iss, changed(claims -> claims.setIssuer(iss)));
    }
    tokens.put("no aud", changed(claims -> claims.unsetClaim("aud")));
    for (String aud :
        List.of(
            HERE + SERVICES,
            HERE + SERVICES + "/order-conflict",
            NORTH + REVIEW,
            "https://localhost:8081" + REVIEW,
            HERE + REVIEW + "/feedback",
            PlanPerson.BASE,
            HERE,
            "")) {
      tokens.put("aud " + aud, changed(claims -> claims.setAudience(aud)));
    }
    tokens.put("no exp", changed(claims -> claims.unsetClaim("exp")));
    tokens.put("exp past", changed(claims -> claims.setExpirationTime(minutesFromNow(-2))));
    tokens.put("exp far", changed(claims -> claims.setExpirationTime(minutesFromNow(70))));
    tokens.put("exp as text", changed(claims -> claims.setStringClaim("exp", "soon")));
    tokens.put("no iat", changed(claims -> claims.unsetClaim("iat")));
    tokens.put("iat ahead", changed(claims -> claims.setIssuedAt(minutesFromNow(3))));
    tokens.put("nbf ahead", changed(claims -> claims.setNotBefore(minutesFromNow(3))));
    tokens.put("no jti", changed(claims -> claims.unsetClaim("jti")));
    tokens.put("empty jti", changed(claims -> claims.setJwtId("")));
    tokens.put("long jti", changed(claims -> claims.setJwtId("x".repeat(256))));
    tokens.put("jti as number", changed(claims -> claims.setClaim("jti", 7)));
    String good = token(HERE + REVIEW);
    tokens.put("no signature", good.substring(0, good.lastIndexOf('.') + 1));
    tokens.put("a changed signature", good.substring(0, good.length() - 8) + "AAAAAAAA");
    tokens.put("x", "x.y.z");
    tokens.forEach(
        (what, token) -> {
          HttpResponse<String> answer = review(HERE, token);
          attack.tried(what, answer.statusCode() != 401, answer.statusCode() + answer.body());
        });
    for (String elsewhere : List.of(HERE, NORTH)) {
      JwtClaims claims = claims(NORTH_RECORD, elsewhere + REVIEW);
      HttpResponse<String> answer = review(HERE, compact(signature(claims, "ES384", "north")));
      attack.tried("the other clinic's client " + elsewhere, isKnown(answer), answer.body());
      claims = claims(RECORD, elsewhere + REVIEW);
      answer = review(NORTH, compact(signature(claims, "ES384", "ec")));
      attack.tried("our client there " + elsewhere, isKnown(answer), answer.body());
    }
    attack.end(42);
    assertEquals(200, review(HERE, good).statusCode(), "what was changed had been good");
  }
}
