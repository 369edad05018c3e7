package org.tidemark.signin;

import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import jakarta.enterprise.context.ApplicationScoped;
import java.io.IOException;
import java.net.InetAddress;
import java.net.URI;
import java.net.URLEncoder;
import java.nio.charset.StandardCharsets;
import java.time.Clock;
import java.time.Duration;
import java.util.Base64;
import java.util.HashMap;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.stream.Collectors;
import java.util.stream.StreamSupport;
import org.jboss.logging.Logger;
import org.tidemark.exchange.Outgoing;
import org.tidemark.http.AccessSettings;
import org.tidemark.signin.SignInProblem.Kind;

/**
 * Asks the issuer: where its endpoints are (OpenID Connect Discovery 1.0), as far as no setting
 * says so, and for tokens. No answer leads to another address, and each has a limit and a time.
 */
@ApplicationScoped
class Issuer {
  private static final Logger LOG = Logger.getLogger(Issuer.class);

  private static final Duration PATIENCE = Duration.ofSeconds(10);
  private static final Duration KNOWN_FOR = Duration.ofHours(1);

  /** After how long it is asked again where it did not answer. */
  private static final Duration AGAIN = Duration.ofMinutes(1);

  private static final int OK = 200;
  private static final int CLIENT_ERROR = 400;
  private static final int SERVER_ERROR = 500;

  private static final String FORM = "application/x-www-form-urlencoded";

  private final AccessSettings access;
  private final SignInSettings settings;
  private final Outgoing outgoing;
  private final Clock clock;
  private volatile Known known;

  Issuer(AccessSettings access, SignInSettings settings, Outgoing outgoing, Clock clock) {
    this.access = access;
    this.settings = settings;
    this.outgoing = outgoing;
    this.clock = clock;
  }

  private record Known(Endpoints endpoints, long untilMs) {}

  /**
   * What the issuer gives for a code.
   *
   * @param access the access token
   * @param id the ID token; empty where none came, as with a renewal
   * @param refresh what gets a further access token, if it was given
   */
  record Tokens(String access, Optional<String> id, Optional<String> refresh) {}

  /**
   * Where the issuer is asked.
   *
   * @throws SignInProblem when neither it nor the settings say so
   */
  Endpoints endpoints() throws SignInProblem {
    Known now = known;
    if (now == null || clock.millis() >= now.untilMs()) {
      now = found();
      known = now;
    }
    return now.endpoints();
  }

  private Known found() throws SignInProblem {
    try {
      return known(discovered(), KNOWN_FOR);
    } catch (IOException | SignInProblem e) {
      if (access.authorizationEndpoint().isEmpty()) {
        throw new SignInProblem(Kind.UNREACHABLE, "The issuer does not tell its endpoints.", e);
      }
      LOG.infof(
          "The issuer does not tell its endpoints; the settings alone do: %s", e.getMessage());
      return known(new ObjectMapper().createObjectNode(), AGAIN);
    }
  }

  private Known known(JsonNode told, Duration lasts) throws SignInProblem {
    JsonNode ways = told.path("token_endpoint_auth_methods_supported");
    List<String> methods =
        StreamSupport.stream(ways.spliterator(), false).map(JsonNode::asText).toList();
    Optional<String> authorization =
        access.authorizationEndpoint().or(() -> safe(told, "authorization_endpoint"));
    return new Known(
        new Endpoints(
            authorization.orElseThrow(
                () -> new SignInProblem(Kind.NOT_TRUSTED, "No safe authorization endpoint.")),
            access.tokenEndpoint(),
            settings.endSessionEndpoint().or(() -> safe(told, "end_session_endpoint")),
            methods.contains("client_secret_post") && !methods.contains("client_secret_basic")),
        clock.millis() + lasts.toMillis());
  }

  private static Optional<String> safe(JsonNode told, String name) {
    try {
      return Optional.of(told.path(name).asText("")).filter(SignInSettings::isSafe);
    } catch (IllegalArgumentException noAddress) {
      return Optional.empty();
    }
  }

  private JsonNode discovered() throws IOException, SignInProblem {
    String issuer = access.issuer();
    String at =
        (issuer.endsWith("/") ? issuer.substring(0, issuer.length() - 1) : issuer)
            + "/.well-known/openid-configuration";
    Outgoing.Answer answer =
        send("GET", at, Map.of("Accept", "application/json"), Optional.empty());
    if (answer.status() != OK) {
      throw new SignInProblem(Kind.REFUSED, "Discovery was answered by " + answer.status() + ".");
    }
    JsonNode told = json(answer.body());
    if (!told.path("issuer").asText("").equals(issuer)) {
      throw new SignInProblem(Kind.NOT_TRUSTED, "Discovery tells of another issuer.");
    }
    return told;
  }

  /** What the issuer gives for a code. */
  Tokens tokens(String code, Attempt attempt, String redirect) throws SignInProblem {
    Map<String, String> form = new LinkedHashMap<>();
    form.put("grant_type", "authorization_code");
    form.put("code", code);
    form.put("redirect_uri", redirect);
    form.put("code_verifier", attempt.verifier());
    return tokens(form);
  }

  /** What the issuer gives for a token that renews. */
  Tokens renewed(String refresh) throws SignInProblem {
    Map<String, String> form = new LinkedHashMap<>();
    form.put("grant_type", "refresh_token");
    form.put("refresh_token", refresh);
    return tokens(form);
  }

  private Tokens tokens(Map<String, String> form) throws SignInProblem {
    Endpoints endpoints = endpoints();
    Map<String, String> headers = new HashMap<>();
    headers.put("Accept", "application/json");
    headers.put("Content-Type", FORM);
    Optional<String> secret = settings.clientSecret();
    if (secret.isPresent() && !endpoints.secretInBody()) {
      headers.put("Authorization", "Basic " + password(secret.get()));
    } else {
      form.put("client_id", settings.clientId());
      secret.ifPresent(text -> form.put("client_secret", text));
    }
    Outgoing.Answer answer;
    try {
      answer = send("POST", endpoints.token(), headers, Optional.of(query(form)));
    } catch (IOException e) {
      throw new SignInProblem(Kind.UNREACHABLE, "The token endpoint does not answer.", e);
    }
    return read(answer);
  }

  /** "Encoded using the application/x-www-form-urlencoded algorithm" (RFC 6749, 2.3.1). */
  private String password(String secret) {
    String both = encoded(settings.clientId()) + ":" + encoded(secret);
    return Base64.getEncoder().encodeToString(both.getBytes(StandardCharsets.UTF_8));
  }

  private static Tokens read(Outgoing.Answer answer) throws SignInProblem {
    if (answer.status() >= SERVER_ERROR) {
      throw new SignInProblem(
          Kind.UNREACHABLE, "The token endpoint has answered " + answer.status() + ".");
    }
    if (answer.status() >= CLIENT_ERROR) {
      throw new SignInProblem(
          Kind.REFUSED, "The token endpoint has answered " + answer.status() + ".");
    }
    JsonNode told = answer.status() == OK ? json(answer.body()) : json("{}");
    Optional<String> token = text(told, "access_token");
    if (token.isEmpty() || !told.path("token_type").asText("").equalsIgnoreCase("bearer")) {
      throw new SignInProblem(Kind.NOT_TRUSTED, "The token endpoint has given no access token.");
    }
    return new Tokens(token.get(), text(told, "id_token"), text(told, "refresh_token"));
  }

  private static Optional<String> text(JsonNode told, String name) {
    return Optional.ofNullable(told.path(name).textValue()).filter(text -> !text.isEmpty());
  }

  private static JsonNode json(String body) throws SignInProblem {
    try {
      return new ObjectMapper().readTree(body);
    } catch (JsonProcessingException e) {
      // What could not be read may hold a token.
      throw new SignInProblem(Kind.NOT_TRUSTED, "The issuer has answered what is no JSON.");
    }
  }

  /** The address may lie in the clinic's own network: a setting, or the issuer, names it. */
  private Outgoing.Answer send(
      String method, String at, Map<String, String> headers, Optional<String> body)
      throws IOException {
    URI place = URI.create(at);
    return outgoing.send(
        new Outgoing.Sent(
            method,
            place,
            List.of(InetAddress.getAllByName(place.getHost())),
            headers,
            body,
            PATIENCE));
  }

  /** An address with parameters. */
  static String with(String address, Map<String, String> parameters) {
    return address + (address.contains("?") ? "&" : "?") + query(parameters);
  }

  private static String query(Map<String, String> parameters) {
    return parameters.entrySet().stream()
        .map(entry -> encoded(entry.getKey()) + "=" + encoded(entry.getValue()))
        .collect(Collectors.joining("&"));
  }

  private static String encoded(String text) {
    return URLEncoder.encode(text, StandardCharsets.UTF_8);
  }
}
