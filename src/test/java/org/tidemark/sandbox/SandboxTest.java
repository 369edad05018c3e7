package org.tidemark.sandbox;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.hamcrest.Matchers.not;
import static org.hamcrest.Matchers.nullValue;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import io.restassured.response.ValidatableResponse;
import io.restassured.specification.RequestSpecification;
import jakarta.inject.Inject;
import java.util.List;
import java.util.Map;
import java.util.UUID;
import java.util.concurrent.Callable;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import java.util.function.Consumer;
import java.util.stream.IntStream;
import org.jose4j.jwa.AlgorithmConstraints;
import org.jose4j.jwk.EcJwkGenerator;
import org.jose4j.jwk.JsonWebKey.OutputControlLevel;
import org.jose4j.jwk.JsonWebKeySet;
import org.jose4j.jwk.PublicJsonWebKey;
import org.jose4j.jwk.RsaJwkGenerator;
import org.jose4j.jws.JsonWebSignature;
import org.jose4j.jwt.JwtClaims;
import org.jose4j.jwt.NumericDate;
import org.jose4j.keys.EllipticCurves;
import org.jose4j.keys.HmacKey;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/**
 * A client gets a token by showing who it is; each way of not showing it is told by the name that
 * RFC 6749 (section 5.2) and SMART Backend Services give it.
 */
@QuarkusTest
@TestProfile(SandboxTest.Sandbox.class)
class SandboxTest {
  private static final String TOKEN = "http://localhost:8081/auth/token";
  private static final String ASSERTION = "urn:ietf:params:oauth:client-assertion-type:jwt-bearer";

  /** The service as its own authorization server. */
  public static final class Sandbox implements QuarkusTestProfile {
    @Override
    public Map<String, String> getConfigOverrides() {
      return Map.of("tidemark.access", "smart", "tidemark.sandbox", "true");
    }
  }

  @Inject Clients clients;

  private final String id = "ward-" + UUID.randomUUID();
  private PublicJsonWebKey ec;
  private PublicJsonWebKey rsa;

  @BeforeEach
  void register() throws Exception {
    ec = EcJwkGenerator.generateJwk(EllipticCurves.P384);
    ec.setKeyId("ec");
    rsa = RsaJwkGenerator.generateJwk(2048);
    rsa.setKeyId("rsa");
    clients.register(
        id,
        new JsonWebKeySet(ec, rsa).toJson(OutputControlLevel.PUBLIC_ONLY),
        "system/Observation.crs system/Patient.rs system/CarePlan.rs?category=assess-plan",
        "default");
  }

  private JwtClaims claims() {
    JwtClaims claims = new JwtClaims();
    claims.setIssuer(id);
    claims.setSubject(id);
    claims.setAudience(TOKEN);
    claims.setExpirationTimeMinutesInTheFuture(4);
    claims.setGeneratedJwtId();
    return claims;
  }

  private String assertion() throws Exception {
    return sign(claims(), "ES384", ec);
  }

  private String changed(Consumer<JwtClaims> change) throws Exception {
    JwtClaims claims = claims();
    change.accept(claims);
    return sign(claims, "ES384", ec);
  }

  private static String sign(JwtClaims claims, String algorithm, PublicJsonWebKey key)
      throws Exception {
    JsonWebSignature signed = new JsonWebSignature();
    signed.setPayload(claims.toJson());
    signed.setAlgorithmHeaderValue(algorithm);
    signed.setKeyIdHeaderValue(key.getKeyId());
    signed.setKey(key.getPrivateKey());
    signed.setHeader("typ", "JWT");
    return signed.getCompactSerialization();
  }

  private static RequestSpecification form(String assertion, String scope) {
    return given()
        .formParam("grant_type", "client_credentials")
        .formParam("client_assertion_type", ASSERTION)
        .formParam("client_assertion", assertion)
        .formParam("scope", scope);
  }

  private static ValidatableResponse ask(String assertion, String scope) {
    return form(assertion, scope).post("/auth/token").then();
  }

  private static void refused(String assertion) {
    ask(assertion, "system/Observation.rs")
        .statusCode(401)
        .header("Cache-Control", "no-store")
        .body("error", equalTo("invalid_client"))
        .body("error_description", containsString("client"))
        .body("access_token", nullValue());
  }

  @ParameterizedTest
  @CsvSource({"ES384", "RS384"})
  void whoShowsWhoItIsGetsATokenThatTheEndpointTakes(String algorithm) throws Exception {
    String token =
        ask(
                sign(claims(), algorithm, algorithm.equals("ES384") ? ec : rsa),
                "system/Observation.rs system/Patient.s")
            .statusCode(200)
            .header("Cache-Control", "no-store")
            .contentType("application/json")
            .body("token_type", equalTo("bearer"))
            .body("expires_in", equalTo(300))
            .body("scope", equalTo("system/Observation.rs system/Patient.s"))
            .extract()
            .path("access_token");
    given().auth().oauth2(token).get("/fhir/Patient").then().statusCode(200);
    given().auth().oauth2(token).get("/fhir/Observation").then().statusCode(200);
    given().auth().oauth2(token).get("/fhir/Goal").then().statusCode(403);
    given().get("/fhir/Patient").then().statusCode(401);
  }

  /** "exp SHALL be no more than five minutes in the future"; iss and sub are the client's id. */
  @Test
  void case82AnAssertionThatIsNotRightIsInvalidClient() throws Exception {
    ask(assertion(), "system/Patient.rs").statusCode(200);
    refused(changed(claims -> claims.setExpirationTimeMinutesInTheFuture(7)));
    refused(changed(claims -> claims.unsetClaim("exp")));
    refused(
        changed(
            claims -> {
              NumericDate past = NumericDate.now();
              past.addSeconds(-15);
              claims.setExpirationTime(past);
            }));
    refused(changed(claims -> claims.setSubject("another")));
    refused(changed(claims -> claims.unsetClaim("sub")));
    refused(changed(claims -> claims.setIssuer("nobody-" + UUID.randomUUID())));
    refused(changed(claims -> claims.unsetClaim("iss")));
    refused(changed(claims -> claims.setAudience("http://localhost:8081/fhir")));
    refused(changed(claims -> claims.unsetClaim("aud")));
    refused(changed(claims -> claims.unsetClaim("jti")));
    refused(changed(claims -> claims.setJwtId("x".repeat(256))));
    refused("no.assertion.atall");
  }

  @Test
  void case82AKeyThatIsNotRegisteredIsInvalidClient() throws Exception {
    PublicJsonWebKey other = EcJwkGenerator.generateJwk(EllipticCurves.P384);
    other.setKeyId("other");
    refused(sign(claims(), "ES384", other));
    other.setKeyId("ec");
    refused(sign(claims(), "ES384", other));
    other.setKeyId(null);
    refused(sign(claims(), "ES384", other));
  }

  /** RS256 is not offered; HS256 with a public key, and no signature, are the classic forgeries. */
  @Test
  void case82AnAlgorithmThatIsNotOfferedIsInvalidClient() throws Exception {
    refused(sign(claims(), "RS256", rsa));
    JsonWebSignature none = new JsonWebSignature();
    none.setPayload(claims().toJson());
    none.setAlgorithmConstraints(AlgorithmConstraints.NO_CONSTRAINTS);
    none.setAlgorithmHeaderValue("none");
    none.setKeyIdHeaderValue("ec");
    refused(none.getCompactSerialization());
    JsonWebSignature shared = new JsonWebSignature();
    shared.setPayload(claims().toJson());
    shared.setAlgorithmHeaderValue("HS256");
    shared.setKeyIdHeaderValue("ec");
    shared.setKey(new HmacKey(ec.getPublicKey().getEncoded()));
    refused(shared.getCompactSerialization());
  }

  /** "The jti value has not been previously encountered for the given iss." */
  @Test
  void case82AnAssertionCountsOnce() throws Exception {
    String assertion = assertion();
    ask(assertion, "system/Patient.rs").statusCode(200);
    refused(assertion);
    String another = assertion();
    Callable<Integer> sending = () -> ask(another, "system/Patient.rs").extract().statusCode();
    ExecutorService threads = Executors.newFixedThreadPool(8);
    try {
      int taken = 0;
      for (Future<Integer> answer :
          threads.invokeAll(IntStream.range(0, 8).mapToObj(i -> sending).toList())) {
        taken += answer.get() == 200 ? 1 : 0;
      }
      assertEquals(1, taken, "of eight at once one counts");
    } finally {
      threads.shutdown();
    }
  }

  @Test
  void whatIsNotAFormIsInvalidRequest() throws Exception {
    for (String missing : List.of("client_assertion_type", "client_assertion")) {
      Map<String, String> all =
          new java.util.HashMap<>(
              Map.of(
                  "grant_type",
                  "client_credentials",
                  "client_assertion_type",
                  ASSERTION,
                  "client_assertion",
                  assertion(),
                  "scope",
                  "system/Patient.rs"));
      all.remove(missing);
      given()
          .formParams(all)
          .post("/auth/token")
          .then()
          .statusCode(400)
          .body("error", equalTo("invalid_request"));
    }
    form(assertion(), "system/Patient.rs")
        .formParam("scope", "system/Observation.rs")
        .post("/auth/token")
        .then()
        .statusCode(400)
        .body("error", equalTo("invalid_request"));
    given()
        .contentType("application/json")
        .body("{}")
        .post("/auth/token")
        .then()
        .statusCode(400)
        .body("error", equalTo("invalid_request"));
    given()
        .formParam("grant_type", "password")
        .post("/auth/token")
        .then()
        .statusCode(400)
        .body("error", equalTo("unsupported_grant_type"));
    given().get("/auth/token").then().statusCode(405).header("Allow", "POST");
  }

  @ParameterizedTest
  @ValueSource(
      strings = {
        "system/*.rs",
        "system/Goal.rs",
        "system/Observation.cruds",
        "system/Observation.dus",
        "system/CarePlan.rs",
        "user/Observation.rs",
        "patient/Observation.rs",
        "openid",
        "system/Observation.rs system/Goal.r"
      })
  void moreThanIsAllowedIsInvalidScope(String scope) throws Exception {
    ask(assertion(), scope).statusCode(400).body("error", equalTo("invalid_scope"));
  }

  @ParameterizedTest
  @ValueSource(
      strings = {
        "system/Observation.read",
        "system/Observation.c system/Observation.r",
        "system/CarePlan.rs?category=assess-plan",
        "system/CarePlan.rs?category=assess-plan&status=active"
      })
  void whatIsAllowedMayBeAskedForInParts(String scope) throws Exception {
    ask(assertion(), scope).statusCode(200);
  }

  @Test
  void itTellsWhereAndHow() {
    given()
        .accept("application/fhir+xml")
        .get("/fhir/.well-known/smart-configuration")
        .then()
        .statusCode(200)
        .contentType("application/json")
        .body("token_endpoint", equalTo(TOKEN))
        .body("issuer", equalTo("http://localhost:8081/auth"))
        .body("grant_types_supported", hasItem("client_credentials"))
        .body("code_challenge_methods_supported", equalTo(List.of("S256")))
        .body("capabilities", hasItem("client-confidential-asymmetric"))
        .body("token_endpoint_auth_methods_supported", hasItem("private_key_jwt"))
        .body(
            "token_endpoint_auth_signing_alg_values_supported", equalTo(List.of("RS384", "ES384")));
    given()
        .get("/auth/jwks")
        .then()
        .statusCode(200)
        .body("keys[0].kty", equalTo("EC"))
        .body("keys[0]", not(org.hamcrest.Matchers.hasKey("d")));
    given()
        .get("/fhir/metadata")
        .then()
        .statusCode(200)
        .body("rest[0].security.service[0].coding[0].code", equalTo("SMART-on-FHIR"))
        .body("rest[0].security.extension[0].extension[0].valueUri", equalTo(TOKEN));
  }

  @Test
  void keysAndScopesAreLookedAtWhenAClientIsRegistered() throws Exception {
    String keys = new JsonWebKeySet(ec).toJson(OutputControlLevel.PUBLIC_ONLY);
    for (String scopes : List.of("user/*.rs", "system/*.dus", "")) {
      assertThrows(
          IllegalArgumentException.class,
          () -> clients.register("x", keys, scopes, "default"),
          scopes);
    }
    assertThrows(
        IllegalArgumentException.class,
        () -> clients.register("x", "{}", "system/*.rs", "default"));
    assertThrows(
        IllegalArgumentException.class,
        () -> clients.register("x y", keys, "system/*.rs", "default"));
    PublicJsonWebKey small = RsaJwkGenerator.generateJwk(1024);
    small.setKeyId("small");
    assertThrows(
        IllegalArgumentException.class,
        () ->
            clients.register(
                "x",
                new JsonWebKeySet(small).toJson(OutputControlLevel.PUBLIC_ONLY),
                "system/*.rs",
                "default"));
    assertThrows(
        IllegalArgumentException.class,
        () -> clients.register("x", keys, "system/*.rs", "elsewhere"));
    assertTrue(keys.contains("\"kid\""));
  }
}
