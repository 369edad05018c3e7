package org.tidemark.recordsystem;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.rest.client.api.IGenericClient;
import com.sun.net.httpserver.HttpExchange;
import com.sun.net.httpserver.HttpServer;
import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.net.InetSocketAddress;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Collections;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.hibernate.StatelessSession;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Parameters.ParametersParameterComponent;
import org.hl7.fhir.r4.model.UriType;
import org.jose4j.jwk.EcJwkGenerator;
import org.jose4j.jwk.JsonWebKey.OutputControlLevel;
import org.jose4j.jwk.PublicJsonWebKey;
import org.jose4j.jwt.JwtClaims;
import org.jose4j.jwt.consumer.InvalidJwtException;
import org.jose4j.jwt.consumer.JwtConsumerBuilder;
import org.jose4j.keys.EllipticCurves;
import org.jose4j.lang.JoseException;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.clinic.ActsForHome;
import org.tidemark.store.PullStore;

/**
 * A record system that asks for tokens (SMART App Launch 2.2, "Backend Services") and misbehaves,
 * by plain HTTP.
 */
@ExtendWith(ActsForHome.class)
@QuarkusTest
@TestProfile(PullFaultsTest.Misbehaving.class)
class PullFaultsTest {
  private static final String CLIENT = "tidemark-at-the-harbour";

  /** A record system on this machine, and a key made for it. */
  public static final class Misbehaving implements QuarkusTestProfile {
    @Override
    public Map<String, String> getConfigOverrides() {
      String at = "http://127.0.0.1:" + PullTest.WithRecordSystem.port();
      return Map.of(
          "tidemark.subscriptions.allowed-hosts",
          "127.0.0.1",
          "tidemark.record-system.base-url",
          at + "/fhir",
          "tidemark.record-system.client-id",
          CLIENT,
          "tidemark.record-system.token-endpoint",
          at + "/token",
          "tidemark.record-system.key",
          KeyFile.path().toString(),
          "tidemark.record-system.pull.pause",
          "1ms",
          "tidemark.import.pause",
          "1ms");
    }
  }

  /** The file of the key, the same in each class loader of the tests. */
  static final class KeyFile {
    private static final String NAME = "tidemark.tests.record-system-key";

    private KeyFile() {}

    static Path path() {
      try {
        if (System.getProperty(NAME) == null) {
          PublicJsonWebKey made = EcJwkGenerator.generateJwk(EllipticCurves.P384);
          made.setKeyId("k1");
          Path file = Files.createTempFile("record-system", ".json");
          Files.writeString(file, made.toJson(OutputControlLevel.INCLUDE_PRIVATE));
          System.setProperty(NAME, file.toString());
        }
        return Path.of(System.getProperty(NAME));
      } catch (IOException e) {
        throw new UncheckedIOException(e);
      } catch (JoseException e) {
        throw new IllegalStateException(e);
      }
    }
  }

  private record Answer(int status, String body) {}

  @Inject Pulling pulling;
  @Inject Importing importing;
  @Inject PullStore store;
  @Inject StatelessSession session;
  private final IGenericClient here =
      FhirContext.forR4Cached().newRestfulGenericClient("http://localhost:8081/fhir");
  private final List<String> tokensShown = new ArrayList<>();
  private HttpServer server;
  private Answer answer = new Answer(200, bundle(""));
  private String accepted = "";
  private int tokensGiven;
  private volatile boolean halves;

  private static String bundle(String more) {
    return "{\"resourceType\":\"Bundle\",\"type\":\"searchset\"" + more + "}";
  }

  @BeforeEach
  void begin() throws IOException {
    server =
        HttpServer.create(new InetSocketAddress("127.0.0.1", PullTest.WithRecordSystem.port()), 0);
    String source = "http://127.0.0.1:" + PullTest.WithRecordSystem.port() + "/fhir/";
    QuarkusTransaction.requiringNew().run(() -> store.release(source, 0, 0, ""));
    server.createContext("/token", this::giveToken);
    server.createContext("/fhir", this::serve);
    server.start();
  }

  @AfterEach
  void end() {
    server.stop(0);
  }

  private void giveToken(HttpExchange exchange) throws IOException {
    String sent = new String(exchange.getRequestBody().readAllBytes(), StandardCharsets.UTF_8);
    Map<String, String> form =
        Stream.of(sent.split("&"))
            .map(pair -> pair.split("="))
            .collect(
                Collectors.toMap(
                    pair -> pair[0],
                    pair -> java.net.URLDecoder.decode(pair[1], StandardCharsets.UTF_8),
                    (first, second) -> first,
                    HashMap::new));
    if (!isRight(form)) {
      respond(exchange, new Answer(400, "{\"error\":\"invalid_client\"}"));
      return;
    }
    accepted = "given-" + ++tokensGiven;
    respond(
        exchange,
        new Answer(
            200,
            "{\"access_token\":\"%s\",\"token_type\":\"bearer\",\"expires_in\":300}"
                .formatted(accepted)));
  }

  /** What the guide asks of the request for a token. */
  private static boolean isRight(Map<String, String> form) throws IOException {
    try {
      PublicJsonWebKey key =
          PublicJsonWebKey.Factory.newPublicJwk(Files.readString(KeyFile.path()));
      JwtClaims claims =
          new JwtConsumerBuilder()
              .setVerificationKey(key.getPublicKey())
              .setExpectedIssuer(CLIENT)
              .setExpectedSubject(CLIENT)
              .setExpectedAudience(
                  "http://127.0.0.1:" + PullTest.WithRecordSystem.port() + "/token")
              .setRequireJwtId()
              .setMaxFutureValidityInMinutes(5)
              .setRequireExpirationTime()
              .build()
              .processToClaims(form.get("client_assertion"));
      return claims.hasClaim("jti")
          && form.get("grant_type").equals("client_credentials")
          && form.get("scope").equals("system/Observation.rs system/Patient.rs")
          && form.get("client_assertion_type")
              .equals("urn:ietf:params:oauth:client-assertion-type:jwt-bearer");
    } catch (InvalidJwtException | JoseException wrong) {
      return false;
    }
  }

  private void serve(HttpExchange exchange) throws IOException {
    String shown = String.valueOf(exchange.getRequestHeaders().getFirst("Authorization"));
    tokensShown.add(shown);
    if (!shown.equals("Bearer " + accepted)) {
      respond(exchange, new Answer(401, ""));
    } else if (exchange.getRequestURI().getPath().endsWith("/lost")) {
      respond(exchange, new Answer(500, ""));
    } else if (exchange.getRequestURI().getPath().endsWith("/metadata")) {
      respond(exchange, new Answer(200, "{}"));
    } else {
      respond(exchange, answer);
    }
  }

  private void respond(HttpExchange exchange, Answer with) throws IOException {
    byte[] body = with.body().getBytes(StandardCharsets.UTF_8);
    exchange.getResponseHeaders().add("Content-Type", "application/fhir+json");
    exchange.sendResponseHeaders(with.status(), body.length == 0 ? -1 : body.length);
    exchange.getResponseBody().write(body, 0, halves ? body.length / 2 : body.length);
    // Where less came than was promised, the connection ends with it.
    exchange.close();
  }

  private String problem() throws InterruptedException {
    Thread.sleep(10);
    pulling.pull();
    return told("problem");
  }

  private String told(String name) {
    Parameters status =
        here.operation()
            .onServer()
            .named("$pull-status")
            .withNoParameters(Parameters.class)
            .useHttpGet()
            .execute();
    return status.hasParameter(name) ? status.getParameter(name).getValue().primitiveValue() : "";
  }

  @Test
  void oneThatIsAwayFromTheStartIsTold() throws Exception {
    QuarkusTransaction.requiringNew()
        .run(
            () ->
                session
                    .createNativeMutationQuery("delete from pull_state where clinic = :clinic")
                    .setParameter("clinic", ActsForHome.HOME)
                    .executeUpdate());
    server.removeContext("/fhir");
    server.removeContext("/token");
    // Whether a token is known from before depends on the tests before.
    assertTrue(problem().matches("The (token endpoint|record system) answered 404\\."));
    assertEquals("", told("reached"));
    server.createContext("/token", this::giveToken);
    server.createContext("/fhir", this::serve);
    assertEquals("", problem());
    assertFalse(told("reached").isEmpty());
  }

  /** A server may give the newest first, whatever it was asked for. */
  @Test
  void whatLiesBeyondAPageThatFailsIsAskedForAgain() throws Exception {
    assertEquals("", problem());
    String reached = told("reached");
    answer =
        new Answer(
            200,
            bundle(
                ",\"link\":[{\"relation\":\"next\",\"url\":\"/fhir/lost\"}],\"entry\":[{\"resource\":{\"resourceType\":\"Observation\",\"id\":\"a\",\"meta\":{\"lastUpdated\":\"2040-01-01T00:00:00Z\"},\"status\":\"final\",\"code\":{\"text\":\"a\"}}}]"));
    assertEquals("The record system answered 500.", problem());
    assertEquals(reached, told("reached"));
  }

  @Test
  void aTokenIsAskedForOnceAndAgainWhenItIsNoLongerTaken() throws Exception {
    assertEquals("", problem());
    assertEquals("", problem());
    int asked = tokensGiven;
    assertTrue(asked <= 1, asked + " tokens");
    accepted = "nobody has this one";
    assertEquals("", problem());
    assertEquals(asked + 1, tokensGiven);
    assertEquals("Bearer " + accepted, tokensShown.get(tokensShown.size() - 1));
  }

  @Test
  void anImportShowsItsTokenOnlyForFilesOfTheRecordSystem() {
    List<String> shownElsewhere = new ArrayList<>();
    server.createContext(
        "/files",
        exchange -> {
          shownElsewhere.add(exchange.getRequestHeaders().getFirst("Authorization"));
          respond(exchange, new Answer(200, ""));
        });
    String at = "http://127.0.0.1:" + PullTest.WithRecordSystem.port();
    Parameters asked = new Parameters();
    asked.addParameter("inputSource", new UriType(at + "/fhir"));
    for (String file : List.of("/fhir/out/1.ndjson", "/files/2.ndjson")) {
      ParametersParameterComponent input = asked.addParameter().setName("input");
      input.addPart().setName("type").setValue(new CodeType("Patient"));
      input.addPart().setName("url").setValue(new UriType(at + file));
    }
    answer =
        new Answer(
            200,
            "{\"resourceType\":\"Patient\",\"id\":\"theirs\",\"meta\":{\"versionId\":\"1\"}}\n");
    accepted = "nobody has this one";
    given()
        .contentType("application/fhir+json")
        .header("Prefer", "respond-async")
        .body(FhirContext.forR4Cached().newJsonParser().encodeResourceToString(asked))
        .post("/fhir/$import")
        .then()
        .statusCode(202);
    importing.work();
    importing.work();
    assertEquals("Bearer " + accepted, tokensShown.get(tokensShown.size() - 1));
    assertEquals(Collections.singletonList(null), shownElsewhere);
    given().get("/fhir/Patient/theirs").then().statusCode(200);
  }

  @ParameterizedTest
  @CsvSource(
      delimiter = '|',
      value = {
        "500|{}|The record system answered 500.",
        "302|{}|The record system answered 302.",
        "200|<html>|The record system did not answer with a Bundle.",
        "200|{\"resourceType\":\"Patient\"}|The record system did not answer with a Bundle.",
        "404|{}|The record system has no Observations.",
      })
  void whatIsNoPageIsTold(int status, String body, String told) throws Exception {
    answer = new Answer(status, body);
    assertEquals(told, problem());
    answer = new Answer(200, bundle(""));
    assertEquals("", problem());
  }

  @Test
  void aTokenGoesNowhereElse() throws Exception {
    answer =
        new Answer(
            200,
            bundle(",\"link\":[{\"relation\":\"next\",\"url\":\"http://localhost:8081/fhir/x\"}]"));
    assertEquals("The next page lies at another address.", problem());
  }

  @Test
  void aPageThatComesAgainAndAgainIsReadOnce() throws Exception {
    String again = "/fhir/Observation?page=2";
    answer =
        new Answer(200, bundle(",\"link\":[{\"relation\":\"next\",\"url\":\"" + again + "\"}]"));
    assertEquals("The record system gives the same page again.", problem());
  }

  @Test
  void anObservationWithoutATimeIsTold() throws Exception {
    answer =
        new Answer(
            200,
            bundle(
                ",\"entry\":[{\"resource\":{\"resourceType\":\"Observation\",\"id\":\"a\",\"status\":\"final\",\"code\":{\"text\":\"a\"}}}]"));
    assertEquals(
        "The record system gives Observations without an id or meta.lastUpdated.", problem());
  }

  @Test
  void halfAnAnswerIsNone() throws Exception {
    assertEquals("", problem());
    halves = true;
    assertEquals("The record system could not be reached.", problem());
  }
}
