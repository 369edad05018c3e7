package org.tidemark.http;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.sun.net.httpserver.HttpExchange;
import com.sun.net.httpserver.HttpServer;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.net.InetAddress;
import java.net.InetSocketAddress;
import java.net.URI;
import java.net.URLDecoder;
import java.net.URLEncoder;
import java.nio.charset.StandardCharsets;
import java.security.GeneralSecurityException;
import java.security.MessageDigest;
import java.util.ArrayList;
import java.util.Base64;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.UUID;
import java.util.concurrent.ConcurrentHashMap;
import java.util.concurrent.Executors;
import java.util.concurrent.atomic.AtomicInteger;
import org.jose4j.jws.AlgorithmIdentifiers;
import org.jose4j.jws.JsonWebSignature;
import org.jose4j.jwt.JwtClaims;
import org.jose4j.jwt.NumericDate;
import org.jose4j.keys.HmacKey;
import org.jose4j.lang.JoseException;

/**
 * An OpenID provider that signs everybody in at once, and holds the service to what the standards
 * ask of a client: each parameter of the request, PKCE, the client's secret, a code that counts
 * once. What it does wrong is asked of it by the further parameter {@code as}, a JSON object:
 * {@code id} and {@code access} replace claims of the tokens (null takes one away), {@code key} is
 * {@code stranger}, {@code none} or {@code public} for ID tokens that are not signed by its key,
 * {@code seconds} is how long access tokens live, {@code refresh} says whether they can be renewed,
 * {@code status} and {@code refreshStatus} are what the token endpoint answers by, {@code renewed}
 * replaces claims of renewed access tokens.
 */
final class IssuerServer {
  static final String CLIENT = "pages of the clinic";
  static final String SECRET = "only: for this run %";
  static final String DEFAULT_BASE = PlanPerson.BASE;
  static final String NORTH_BASE = "https://127.0.0.1:8081/fhir";
  static final String SCOPES = "openid fhirUser user/*.cruds";

  private static final ObjectMapper JSON = new ObjectMapper();
  private static final List<String> REDIRECTS =
      List.of(
          "http://localhost:" + PlanPerson.PORT + "/signin/callback",
          "https://127.0.0.1:8081/signin/callback");

  private final Issuer key = new Issuer("ES384", "of-the-issuer");
  private final Issuer stranger = new Issuer("ES384", "of-the-issuer");
  private final HttpServer server;
  private volatile String usual = "{}";
  private final Map<String, Asked> codes = new ConcurrentHashMap<>();
  private final Map<String, Asked> refreshes = new ConcurrentHashMap<>();
  private final Map<String, AtomicInteger> counts = new ConcurrentHashMap<>();

  /** What somebody was sent here with. */
  private record Asked(Map<String, String> parameters, JsonNode as) {}

  IssuerServer() {
    try {
      server = HttpServer.create(new InetSocketAddress(InetAddress.getLoopbackAddress(), 0), 0);
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
    server.setExecutor(Executors.newCachedThreadPool());
    server.createContext("/.well-known/openid-configuration", this::discovery);
    server.createContext("/jwks", exchange -> json(exchange, 200, Issuer.jwks(key)));
    server.createContext("/authorize", this::authorize);
    server.createContext("/token", this::token);
    server.createContext("/logout", this::logout);
    server.createContext("/counts", this::counted);
    server.createContext("/usual", this::usual);
    server.start();
  }

  String name() {
    return "http://localhost:" + server.getAddress().getPort();
  }

  Issuer key() {
    return key;
  }

  void stop() {
    server.stop(0);
  }

  private void count(String what) {
    counts.computeIfAbsent(what, unknown -> new AtomicInteger()).incrementAndGet();
  }

  /** How often it was asked for something. */
  int counted(String what) {
    return counts.getOrDefault(what, new AtomicInteger()).get();
  }

  private void counted(HttpExchange exchange) throws IOException {
    Map<String, Integer> told = new LinkedHashMap<>();
    counts.forEach((what, count) -> told.put(what, count.get()));
    json(exchange, 200, JSON.writeValueAsString(told));
  }

  /** What it does wrong from now on where it is not asked otherwise. */
  private void usual(HttpExchange exchange) throws IOException {
    usual = parameters(exchange.getRequestURI().getRawQuery()).get("as");
    json(exchange, 200, "{}");
  }

  private void discovery(HttpExchange exchange) throws IOException {
    count("discovery");
    json(
        exchange,
        200,
        JSON.writeValueAsString(
            Map.of(
                "issuer", name(),
                "authorization_endpoint", name() + "/authorize",
                "token_endpoint", name() + "/token",
                "end_session_endpoint", name() + "/logout",
                "jwks_uri", name() + "/jwks")));
  }

  // ---- the authorization endpoint ----

  private void authorize(HttpExchange exchange) throws IOException {
    count("authorize");
    Map<String, String> asked = parameters(exchange.getRequestURI().getRawQuery());
    List<String> wrong = wrong(asked);
    if (!wrong.isEmpty()) {
      json(exchange, 400, "{\"error\":\"" + wrong + "\"}");
      return;
    }
    JsonNode as = JSON.readTree(asked.getOrDefault("as", usual));
    String code = UUID.randomUUID().toString();
    codes.put(code, new Asked(asked, as));
    Map<String, String> told = new LinkedHashMap<>();
    if (as.has("error")) {
      told.put("error", as.path("error").asText());
    } else {
      told.put("code", code);
    }
    told.put("state", asked.get("state"));
    told.put("iss", as.path("iss").asText(name()));
    redirect(exchange, asked.get("redirect_uri") + "?" + query(told));
  }

  private static List<String> wrong(Map<String, String> asked) {
    List<String> wrong = new ArrayList<>();
    Map.of(
            "response_type", "code",
            "client_id", CLIENT,
            "code_challenge_method", "S256",
            "resource", "plans")
        .forEach(
            (name, value) -> {
              if (!value.equals(asked.get(name))) {
                wrong.add(name);
              }
            });
    for (String name : List.of("state", "nonce", "code_challenge")) {
      if (!asked.getOrDefault(name, "").matches("[A-Za-z0-9_-]{43}")) {
        wrong.add(name);
      }
    }
    if (!REDIRECTS.contains(asked.get("redirect_uri"))) {
      wrong.add("redirect_uri");
    }
    if (!List.of(DEFAULT_BASE, NORTH_BASE).contains(asked.get("aud"))) {
      wrong.add("aud");
    }
    if (!List.of(asked.getOrDefault("scope", "").split(" ")).contains("openid")) {
      wrong.add("scope");
    }
    return wrong;
  }

  // ---- the token endpoint ----

  private void token(HttpExchange exchange) throws IOException {
    Map<String, String> form =
        parameters(new String(exchange.getRequestBody().readAllBytes(), StandardCharsets.UTF_8));
    String grant = form.getOrDefault("grant_type", "");
    count(grant);
    String password =
        URLEncoder.encode(CLIENT, StandardCharsets.UTF_8)
            + ":"
            + URLEncoder.encode(SECRET, StandardCharsets.UTF_8);
    String basic =
        "Basic " + Base64.getEncoder().encodeToString(password.getBytes(StandardCharsets.UTF_8));
    if (!basic.equals(exchange.getRequestHeaders().getFirst("Authorization"))) {
      json(exchange, 401, "{\"error\":\"invalid_client\"}");
    } else if (grant.equals("refresh_token")) {
      renew(exchange, form);
    } else {
      give(exchange, form);
    }
  }

  private void give(HttpExchange exchange, Map<String, String> form) throws IOException {
    Asked asked = codes.remove(form.getOrDefault("code", ""));
    if (asked == null
        || !form.getOrDefault("redirect_uri", "").equals(asked.parameters().get("redirect_uri"))
        || !challenge(form.getOrDefault("code_verifier", ""))
            .equals(asked.parameters().get("code_challenge"))) {
      count("refused code");
      json(exchange, 400, "{\"error\":\"invalid_grant\"}");
      return;
    }
    answer(exchange, asked, asked.as().path("status").asInt(200), "access");
  }

  private void renew(HttpExchange exchange, Map<String, String> form) throws IOException {
    Asked asked = refreshes.remove(form.getOrDefault("refresh_token", ""));
    if (asked == null) {
      count("refused refresh");
      json(exchange, 400, "{\"error\":\"invalid_grant\"}");
      return;
    }
    int status = asked.as().path("refreshStatus").asInt(200);
    if (status != 200) {
      refreshes.put(form.get("refresh_token"), asked);
    }
    answer(exchange, asked, status, asked.as().has("renewed") ? "renewed" : "access");
  }

  private void answer(HttpExchange exchange, Asked asked, int status, String claims)
      throws IOException {
    if (status == 302) {
      redirect(exchange, name() + "/token/elsewhere");
      return;
    }
    if (status != 200) {
      json(exchange, status, "{\"error\":\"server_error\"}");
      return;
    }
    Map<String, Object> told = new LinkedHashMap<>();
    told.put("token_type", "Bearer");
    told.put("access_token", key.sign(access(asked, claims)));
    if (!asked.as().path("noId").asBoolean()) {
      told.put("id_token", id(asked));
    }
    if (asked.as().path("refresh").asBoolean()) {
      String refresh = UUID.randomUUID().toString();
      refreshes.put(refresh, asked);
      told.put("refresh_token", refresh);
    }
    json(exchange, 200, JSON.writeValueAsString(told));
  }

  private JwtClaims access(Asked asked, String claims) {
    JwtClaims token = Issuer.claims(SCOPES, null);
    String base = asked.parameters().get("aud");
    token.setIssuer(name());
    token.setAudience(base);
    token.setSubject("ada");
    token.setClaim("client_id", CLIENT);
    token.setClaim("fhirUser", "Practitioner/ada-wren");
    token.setClaim("clinic", base.equals(NORTH_BASE) ? "north" : "default");
    token.setExpirationTime(inSeconds(asked.as().path("seconds").asInt(300)));
    replace(token, asked.as().path(claims));
    return token;
  }

  private static NumericDate inSeconds(long seconds) {
    NumericDate then = NumericDate.now();
    then.addSeconds(seconds);
    return then;
  }

  private String id(Asked asked) {
    JwtClaims token = new JwtClaims();
    token.setIssuer(name());
    token.setAudience(CLIENT);
    token.setSubject("ada");
    token.setIssuedAtToNow();
    token.setExpirationTime(inSeconds(300));
    token.setClaim("nonce", asked.parameters().get("nonce"));
    token.setClaim("name", "Ada Wren <ada>");
    replace(token, asked.as().path("id"));
    return switch (asked.as().path("key").asText()) {
      case "stranger" -> stranger.sign(token);
      case "none" -> unsigned(token);
      case "public" -> signedByPublicKey(token);
      default -> key.sign(token);
    };
  }

  private static String unsigned(JwtClaims claims) {
    JsonWebSignature signed = new JsonWebSignature();
    signed.setPayload(claims.toJson());
    signed.setAlgorithmHeaderValue(AlgorithmIdentifiers.NONE);
    signed.setAlgorithmConstraints(org.jose4j.jwa.AlgorithmConstraints.NO_CONSTRAINTS);
    return compact(signed);
  }

  /** The public key as the secret of an HMAC (RFC 8725, 2.1). */
  private String signedByPublicKey(JwtClaims claims) {
    JsonWebSignature signed = new JsonWebSignature();
    signed.setPayload(claims.toJson());
    signed.setAlgorithmHeaderValue(AlgorithmIdentifiers.HMAC_SHA256);
    signed.setKeyIdHeaderValue(key.key.getKeyId());
    signed.setKey(new HmacKey(key.key.getPublicKey().getEncoded()));
    return compact(signed);
  }

  private static String compact(JsonWebSignature signed) {
    try {
      return signed.getCompactSerialization();
    } catch (JoseException e) {
      throw new IllegalStateException(e);
    }
  }

  private static void replace(JwtClaims claims, JsonNode by) {
    by.properties()
        .forEach(
            entry -> {
              if (entry.getValue().isNull()) {
                claims.unsetClaim(entry.getKey());
              } else {
                claims.setClaim(entry.getKey(), JSON.convertValue(entry.getValue(), Object.class));
              }
            });
  }

  private static String challenge(String verifier) {
    try {
      return Base64.getUrlEncoder()
          .withoutPadding()
          .encodeToString(
              MessageDigest.getInstance("SHA-256")
                  .digest(verifier.getBytes(StandardCharsets.US_ASCII)));
    } catch (GeneralSecurityException e) {
      throw new IllegalStateException(e);
    }
  }

  // ---- signing out ----

  private void logout(HttpExchange exchange) throws IOException {
    Map<String, String> asked = parameters(exchange.getRequestURI().getRawQuery());
    boolean right =
        asked.getOrDefault("id_token_hint", "").split("\\.").length == 3
            && CLIENT.equals(asked.get("client_id"));
    count(right ? "logout" : "wrong logout");
    redirect(exchange, URI.create(asked.get("post_logout_redirect_uri")).toString());
  }

  // ---- HTTP ----

  private static Map<String, String> parameters(String query) {
    Map<String, String> parameters = new LinkedHashMap<>();
    for (String pair : query == null || query.isEmpty() ? new String[0] : query.split("&")) {
      String[] parts = pair.split("=", 2);
      parameters.put(
          URLDecoder.decode(parts[0], StandardCharsets.UTF_8),
          URLDecoder.decode(parts[1], StandardCharsets.UTF_8));
    }
    return parameters;
  }

  private static String query(Map<String, String> parameters) {
    List<String> pairs = new ArrayList<>();
    parameters.forEach(
        (name, value) -> pairs.add(name + "=" + URLEncoder.encode(value, StandardCharsets.UTF_8)));
    return String.join("&", pairs);
  }

  private static void redirect(HttpExchange exchange, String to) throws IOException {
    exchange.getResponseHeaders().set("Location", to);
    exchange.sendResponseHeaders(302, -1);
    exchange.close();
  }

  private static void json(HttpExchange exchange, int status, String body) throws IOException {
    byte[] bytes = body.getBytes(StandardCharsets.UTF_8);
    exchange.getResponseHeaders().set("Content-Type", "application/json");
    exchange.sendResponseHeaders(status, bytes.length);
    exchange.getResponseBody().write(bytes);
    exchange.close();
  }
}
