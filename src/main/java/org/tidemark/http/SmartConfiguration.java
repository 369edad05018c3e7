package org.tidemark.http;

import ca.uhn.fhir.context.FhirContext;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ArrayNode;
import com.fasterxml.jackson.databind.node.ObjectNode;
import jakarta.inject.Inject;
import jakarta.servlet.annotation.WebServlet;
import jakarta.servlet.http.HttpServlet;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.util.List;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.Problem;

/**
 * Tells clients where they get access tokens and what these may be for: {@code
 * .well-known/smart-configuration} below the base of the endpoint (SMART App Launch 2.2,
 * "Conformance"). It is JSON whatever is accepted.
 */
@WebServlet(name = "smart-configuration", urlPatterns = "/fhir/" + SmartConfiguration.PATH)
public class SmartConfiguration extends HttpServlet {
  private static final long serialVersionUID = 1L;

  static final String PATH = ".well-known/smart-configuration";

  /** Of the issuer's own abilities nothing is claimed. */
  private static final List<String> CAPABILITIES =
      List.of("permission-patient", "permission-user", "permission-v1", "permission-v2");

  @Inject transient AccessSettings settings;
  @Inject transient FhirContext context;

  @Override
  protected void doGet(HttpServletRequest request, HttpServletResponse response)
      throws IOException {
    response.setHeader(RequestIds.HEADER, RequestIds.of(request));
    if (!settings.smart()) {
      Problem open = Problem.of(Problem.Kind.NOT_FOUND, "Access is open here; no token is needed.");
      response.setStatus(open.status());
      response.setContentType("application/fhir+json;charset=UTF-8");
      response.getWriter().write(context.newJsonParser().encodeResourceToString(Outcomes.of(open)));
      return;
    }
    response.setContentType("application/json;charset=UTF-8");
    new ObjectMapper().writeValue(response.getWriter(), configuration());
  }

  private ObjectNode configuration() {
    ObjectNode told = new ObjectMapper().createObjectNode();
    told.put("issuer", settings.issuer());
    if (settings.jwks().startsWith("http")) {
      told.put("jwks_uri", settings.jwks());
    }
    told.put("token_endpoint", settings.tokenEndpoint());
    ArrayNode grants = told.putArray("grant_types_supported").add("client_credentials");
    settings
        .authorizationEndpoint()
        .ifPresent(
            endpoint -> {
              told.put("authorization_endpoint", endpoint);
              grants.add("authorization_code");
              told.putArray("response_types_supported").add("code");
            });
    ArrayNode scopes = told.putArray("scopes_supported");
    ArrayNode capabilities = told.putArray("capabilities");
    CAPABILITIES.forEach(capabilities::add);
    if (settings.sandbox()) {
      scopes.add("system/*.cruds");
      capabilities.add("client-confidential-asymmetric");
      told.putArray("token_endpoint_auth_methods_supported").add("private_key_jwt");
      told.putArray("token_endpoint_auth_signing_alg_values_supported").add("RS384").add("ES384");
    } else {
      scopes.add("system/*.cruds").add("user/*.cruds").add("patient/*.cruds");
    }
    told.putArray("code_challenge_methods_supported").add("S256");
    return told;
  }
}
