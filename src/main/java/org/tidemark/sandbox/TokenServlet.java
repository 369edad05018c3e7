package org.tidemark.sandbox;

import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.JsonNodeFactory;
import com.fasterxml.jackson.databind.node.ObjectNode;
import jakarta.inject.Inject;
import jakarta.servlet.annotation.WebServlet;
import jakarta.servlet.http.HttpServlet;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import org.jose4j.jws.JsonWebSignature;
import org.jose4j.jwt.JwtClaims;
import org.jose4j.lang.JoseException;
import org.tidemark.access.Scope;
import org.tidemark.http.AccessSettings;
import org.tidemark.http.RequestIds;
import org.tidemark.sandbox.TokenProblem.Kind;

/**
 * {@code POST /auth/token} gives an access token to a client that shows who it is (SMART Backend
 * Services; RFC 6749, section 4.4), {@code GET /auth/jwks} the key that the tokens are signed with.
 */
@WebServlet(
    name = "sandbox",
    urlPatterns = {"/auth/token", "/auth/jwks"})
public class TokenServlet extends HttpServlet {
  private static final long serialVersionUID = 1L;

  private static final String ASSERTION = "urn:ietf:params:oauth:client-assertion-type:jwt-bearer";

  /** "The expires_in value SHOULD NOT exceed 300." */
  private static final int LIFETIME_SECONDS = 300;

  @Inject transient AccessSettings settings;
  @Inject transient Clients clients;
  @Inject transient SandboxKey key;

  @Override
  protected void service(HttpServletRequest request, HttpServletResponse response)
      throws IOException {
    response.setHeader(RequestIds.HEADER, RequestIds.of(request));
    response.setHeader("Cache-Control", "no-store");
    boolean asked = request.getServletPath().endsWith("/token");
    String method = asked ? "POST" : "GET";
    if (!settings.sandbox()) {
      response.setStatus(HttpServletResponse.SC_NOT_FOUND);
    } else if (!request.getMethod().equals(method)) {
      response.setHeader("Allow", method);
      response.setStatus(HttpServletResponse.SC_METHOD_NOT_ALLOWED);
    } else if (asked) {
      answer(request, response);
    } else {
      write(response, 200, key.jwks());
    }
  }

  private void answer(HttpServletRequest request, HttpServletResponse response) throws IOException {
    ObjectNode answer = JsonNodeFactory.instance.objectNode();
    int status = 200;
    try {
      Clients.Known client = client(request);
      String scopes = scopes(one(request, "scope"), client.scopes());
      answer.put("access_token", token(client, scopes));
      answer.put("token_type", "bearer");
      answer.put("expires_in", LIFETIME_SECONDS);
      answer.put("scope", scopes);
    } catch (TokenProblem refused) {
      status = refused.status();
      answer.put("error", refused.code());
      answer.put("error_description", refused.getMessage());
    }
    write(response, status, new ObjectMapper().writeValueAsString(answer));
  }

  private static void write(HttpServletResponse response, int status, String json)
      throws IOException {
    response.setStatus(status);
    response.setContentType("application/json;charset=UTF-8");
    response.getOutputStream().write(json.getBytes(StandardCharsets.UTF_8));
  }

  private Clients.Known client(HttpServletRequest request) throws TokenProblem {
    String type = Optional.ofNullable(request.getContentType()).orElse("");
    if (!type.toLowerCase(Locale.ROOT).startsWith("application/x-www-form-urlencoded")
        || request.getQueryString() != null) {
      throw new TokenProblem(
          Kind.INVALID_REQUEST, "The parameters come as a form in the body, none in the address.");
    }
    if (!one(request, "grant_type").equals("client_credentials")) {
      throw new TokenProblem(
          Kind.UNSUPPORTED_GRANT_TYPE, "The sandbox knows the grant_type client_credentials.");
    }
    if (!one(request, "client_assertion_type").equals(ASSERTION)) {
      throw new TokenProblem(
          Kind.INVALID_REQUEST, "The client_assertion_type must be " + ASSERTION + ".");
    }
    return clients.authenticate(one(request, "client_assertion"));
  }

  /** "Request and response parameters MUST NOT be included more than once." */
  private static String one(HttpServletRequest request, String name) throws TokenProblem {
    String[] values = request.getParameterValues(name);
    if (values == null || values.length != 1 || values[0].isBlank()) {
      throw new TokenProblem(
          Kind.INVALID_REQUEST, "The parameter " + name + " is needed, and only once.");
    }
    return values[0];
  }

  /** What is asked for, as far as it is allowed. */
  private static String scopes(String asked, List<String> allowed) throws TokenProblem {
    List<Scope> rights = allowed.stream().map(Scope::parse).flatMap(Optional::stream).toList();
    List<String> granted = new ArrayList<>();
    for (String text : Set.copyOf(Arrays.asList(asked.trim().split(" +")))) {
      Optional<Scope> scope = Scope.parse(text);
      if (scope.filter(wanted -> wanted.within(rights)).isEmpty()) {
        throw new TokenProblem(
            Kind.INVALID_SCOPE,
            "The client may ask for "
                + String.join(" ", allowed)
                + ", not for "
                + text.replaceAll("[^\\x20-\\x21\\x23-\\x5b\\x5d-\\x7e]", "")
                + ".");
      }
      granted.add(text);
    }
    return granted.stream().sorted().collect(Collectors.joining(" "));
  }

  private String token(Clients.Known client, String scopes) {
    JwtClaims claims = new JwtClaims();
    claims.setIssuer(settings.issuer());
    claims.setSubject(client.id());
    claims.setClaim("client_id", client.id());
    claims.setAudience(AccessSettings.audience(client.clinic()));
    settings.clinicClaim().ifPresent(name -> claims.setClaim(name, client.clinic().id()));
    claims.setIssuedAtToNow();
    claims.setExpirationTimeMinutesInTheFuture(LIFETIME_SECONDS / 60f);
    claims.setGeneratedJwtId();
    claims.setClaim("scope", scopes);
    JsonWebSignature signed = new JsonWebSignature();
    signed.setPayload(claims.toJson());
    signed.setAlgorithmHeaderValue("ES384");
    signed.setKeyIdHeaderValue(key.key().getKeyId());
    signed.setKey(key.key().getPrivateKey());
    try {
      return signed.getCompactSerialization();
    } catch (JoseException e) {
      throw new IllegalStateException("a token cannot be signed", e);
    }
  }
}
