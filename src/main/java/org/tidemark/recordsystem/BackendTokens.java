package org.tidemark.recordsystem;

import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import jakarta.enterprise.context.ApplicationScoped;
import java.io.IOException;
import java.net.URLEncoder;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.time.Clock;
import java.time.Duration;
import java.util.Map;
import java.util.Optional;
import java.util.concurrent.ConcurrentHashMap;
import java.util.stream.Collectors;
import org.jose4j.jwk.PublicJsonWebKey;
import org.jose4j.lang.JoseException;
import org.tidemark.exchange.Outgoing;
import org.tidemark.recordsystem.RecordSystem.Login;

/**
 * Access tokens of record systems, by SMART Backend Services: the service says who it is by a JWT
 * that it signs (SMART App Launch 2.2, "Client Authentication: Asymmetric").
 */
@ApplicationScoped
class BackendTokens {
  private static final String ASSERTION = "urn:ietf:params:oauth:client-assertion-type:jwt-bearer";

  /** A token is not used in the last seconds of its life. */
  private static final long MARGIN_SECONDS = 10;

  private static final Duration PATIENCE = Duration.ofSeconds(20);
  private static final ObjectMapper JSON = new ObjectMapper();

  private final Outgoing outgoing;
  private final Places places;
  private final Clock clock;
  private final Map<Login, Token> tokens = new ConcurrentHashMap<>();

  BackendTokens(Outgoing outgoing, Places places, Clock clock) {
    this.outgoing = outgoing;
    this.places = places;
    this.clock = clock;
  }

  private record Token(String text, long endsMs) {}

  /**
   * A token that is good for a request now.
   *
   * @throws RecordSystemProblem when none is given out
   */
  String get(Login login) throws RecordSystemProblem {
    Token known = tokens.get(login);
    if (known != null && clock.millis() < known.endsMs()) {
      return known.text();
    }
    Token fresh = ask(login);
    tokens.put(login, fresh);
    return fresh.text();
  }

  /** Forgets a token that the record system does not take. */
  void drop(Login login) {
    tokens.remove(login);
  }

  private Token ask(Login login) throws RecordSystemProblem {
    Map<String, String> form =
        Map.of(
            "grant_type",
            "client_credentials",
            "scope",
            login.scopes(),
            "client_assertion_type",
            ASSERTION,
            "client_assertion",
            assertion(login));
    Outgoing.Answer answer;
    try {
      answer =
          outgoing.send(
              new Outgoing.Sent(
                  "POST",
                  login.tokenEndpoint(),
                  places.of(login.tokenEndpoint()),
                  Map.of(
                      "Content-Type", "application/x-www-form-urlencoded",
                      "Accept", "application/json"),
                  Optional.of(encoded(form)),
                  PATIENCE));
    } catch (IOException unreachable) {
      throw new RecordSystemProblem("The token endpoint could not be reached.", unreachable);
    }
    if (answer.status() != 200) {
      throw new RecordSystemProblem("The token endpoint answered " + answer.status() + ".");
    }
    return read(answer.body());
  }

  private Token read(String body) throws RecordSystemProblem {
    try {
      JsonNode answer = JSON.readTree(body);
      String token = answer.path("access_token").asText();
      if (!token.isEmpty() && "bearer".equalsIgnoreCase(answer.path("token_type").asText())) {
        long seconds = answer.path("expires_in").asLong() - MARGIN_SECONDS;
        return new Token(token, clock.millis() + Math.max(0, seconds) * 1000);
      }
    } catch (JsonProcessingException noJson) {
      throw new RecordSystemProblem("The token endpoint did not answer with JSON.", noJson);
    }
    throw new RecordSystemProblem("The token endpoint gave no bearer token.");
  }

  private String assertion(Login login) throws RecordSystemProblem {
    try {
      return new ClientAssertion(
              login.clientId(),
              login.tokenEndpoint(),
              PublicJsonWebKey.Factory.newPublicJwk(Files.readString(login.key())))
          .at(clock.instant());
    } catch (IOException | JoseException | IllegalArgumentException unusable) {
      throw new RecordSystemProblem(
          "The key for the record system is no private JSON Web Key, with a kid, of RSA or P-384.",
          unusable);
    }
  }

  private static String encoded(Map<String, String> form) {
    return form.entrySet().stream()
        .map(
            field ->
                field.getKey() + "=" + URLEncoder.encode(field.getValue(), StandardCharsets.UTF_8))
        .collect(Collectors.joining("&"));
  }
}
