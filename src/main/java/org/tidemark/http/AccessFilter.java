package org.tidemark.http;

import ca.uhn.fhir.context.FhirContext;
import jakarta.inject.Inject;
import jakarta.servlet.FilterChain;
import jakarta.servlet.ServletException;
import jakarta.servlet.annotation.WebFilter;
import jakarta.servlet.http.HttpFilter;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.time.Clock;
import java.util.Collections;
import java.util.List;
import java.util.Objects;
import java.util.Optional;
import java.util.Set;
import java.util.function.Consumer;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.jboss.logging.MDC;
import org.tidemark.access.Grants;
import org.tidemark.application.Caller;
import org.tidemark.application.Guard;
import org.tidemark.audit.AuditTrail;
import org.tidemark.audit.Call;
import org.tidemark.audit.Visit;
import org.tidemark.clinic.Clinic;
import org.tidemark.clinic.Clinics;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.Problem;

/**
 * Asks for an access token, and binds what it grants, and the clinic that it is for, to the
 * request. What a FHIR request may do is judged where records are read and written; the pages and
 * cards show everyone, so that they need a token that may see everyone.
 */
@WebFilter(filterName = "access", urlPatterns = "/*")
public class AccessFilter extends HttpFilter {
  private static final long serialVersionUID = 1L;

  static final String CHALLENGE = "WWW-Authenticate";

  private static final Pattern BEARER = Pattern.compile("(?i)bearer +(\\S+) *");

  /** What tells of the service and of nobody; compared as they were sent. */
  private static final Set<String> FREE =
      Set.of(
          "/fhir/metadata",
          "/fhir/r5/metadata",
          "/fhir/" + SmartConfiguration.PATH,
          "/.well-known/jwks.json");

  /** Where somebody gets a token. */
  private static final String SANDBOX = "/auth";

  private static final String HOOKS = "/cds-services";

  @Inject transient AccessSettings settings;
  @Inject transient AccessTokens tokens;
  @Inject transient PageDoor door;
  @Inject transient HookClients hookClients;
  @Inject transient Origins origins;
  @Inject transient RateLimit rate;
  @Inject transient Guard guard;
  @Inject transient FhirContext context;
  @Inject transient AuditTrail trail;
  @Inject transient Clinics clinics;
  @Inject transient Clock clock;

  /** Settings that are not safe end the start before a port is open. */
  @Override
  public void init() {
    settings.smart();
    door.check();
    hookClients.check();
  }

  @Override
  protected void doFilter(
      HttpServletRequest request, HttpServletResponse response, FilterChain chain)
      throws IOException, ServletException {
    if (!trail.isOn()) {
      serve(request, response, chain, caller -> {});
      return;
    }
    Visit visit =
        new Visit(
            call(request),
            request.getRemoteAddr(),
            RequestIds.of(request),
            clinics.home().id(),
            clock);
    AuditedResponse audited =
        new AuditedResponse(response, trail, visit, isFree(request) && !isSignIn(request));
    boolean served = false;
    try {
      visit.<IOException, ServletException>during(
          () -> serve(request, audited, chain, caller -> name(caller, visit)));
      served = true;
    } finally {
      audited.end(served ? audited.getStatus() : HttpServletResponse.SC_INTERNAL_SERVER_ERROR);
    }
  }

  private static Call call(HttpServletRequest request) {
    // What comes back from the issuer lets somebody in.
    String query = isSignIn(request) ? null : request.getQueryString();
    String line =
        request.getMethod() + " " + request.getRequestURI() + (query == null ? "" : "?" + query);
    return request.getServletPath().equals("/fhir")
        ? Call.fhir(
            request.getMethod(), Objects.toString(R5Facade.inR4(request.getPathInfo()), ""), line)
        : Call.page(line);
  }

  private void serve(
      HttpServletRequest request,
      HttpServletResponse response,
      FilterChain chain,
      Consumer<Caller> known)
      throws IOException, ServletException {
    try {
      origins.require(request);
      Caller caller = counted(request);
      known.accept(caller);
      caller.<IOException, ServletException>during(
          () -> {
            requireWhole(request);
            chain.doFilter(request, response);
          });
    } catch (Problem refused) {
      refuse(request, response, refused);
    }
  }

  private static void name(Caller caller, Visit visit) {
    visit.at(caller.clinic().id());
    caller
        .grants()
        .ifPresent(
            grants -> {
              Grants.Bearer bearer = grants.bearer();
              visit.by(bearer.client(), grants.user().orElse(bearer.subject()));
            });
  }

  /** Who sends a request, which counts for its client; one without a token, for its address. */
  private Caller counted(HttpServletRequest request) {
    Caller caller;
    try {
      caller = caller(request);
    } catch (Problem refused) {
      rate.take(request.getRemoteAddr());
      throw refused;
    }
    String client = caller.grants().map(grants -> grants.bearer().client()).orElse("");
    rate.take(client.isEmpty() ? request.getRemoteAddr() : counted(client, caller, request));
    return caller;
  }

  /** The pages are one client; each who has signed in there is counted alone. */
  private static String counted(String client, Caller caller, HttpServletRequest request) {
    boolean onPages = !Pages.user(request).isEmpty();
    return "client " + client + (onPages ? " " + caller.grants().flatMap(Grants::user) : "");
  }

  private Caller caller(HttpServletRequest request) {
    if (!settings.smart()) {
      return Caller.anyone(isFree(request) ? addressed(request) : clinics.home());
    }
    List<String> sent = Collections.list(request.getHeaders("Authorization"));
    if (isFree(request)) {
      return Caller.nobody(addressed(request));
    }
    if (sent.isEmpty()) {
      return tokens.verify(door.token(request).orElseThrow(AccessFilter::noToken));
    }
    Matcher bearer = BEARER.matcher(sent.get(0));
    if (sent.size() > 1 || !bearer.matches()) {
      throw AccessTokens.notGood();
    }
    String token = bearer.group(1);
    boolean hook = request.getServletPath().equals(HOOKS);
    return (hook ? hookClients.find(token, request, addressed(request)) : Optional.<Caller>empty())
        .orElseGet(() -> tokens.verify(token));
  }

  private static Problem noToken() {
    return Problem.of(
        Problem.Kind.UNAUTHORIZED, "The request needs an access token: Authorization: Bearer.");
  }

  private static boolean isSignIn(HttpServletRequest request) {
    return request.getServletPath().startsWith(PageDoor.PATH);
  }

  /** Whose address was asked for what needs no token; the sandbox is that of the whole service. */
  private Clinic addressed(HttpServletRequest request) {
    return request.getServletPath().startsWith(SANDBOX)
        ? clinics.home()
        : clinics.reachedAt(request.getServerName(), request.getServerPort());
  }

  private boolean isFree(HttpServletRequest request) {
    String place = request.getServletPath();
    return FREE.contains(request.getRequestURI())
        || place.startsWith("/assets/")
        || isSignIn(request)
        || (settings.sandbox() && place.startsWith(SANDBOX));
  }

  /** The pages and cards need a token that may see everyone. */
  private void requireWhole(HttpServletRequest request) {
    String place = request.getServletPath();
    boolean described = place.equals(HOOKS) && request.getMethod().equals("GET");
    boolean judgedLater =
        place.equals("/fhir")
            || place.equals(ExportServlet.PATH)
            || place.equals("/guide")
            || described;
    if (!judgedLater && !isFree(request)) {
      guard.requireClinic();
    }
  }

  private void refuse(HttpServletRequest request, HttpServletResponse response, Problem refused)
      throws IOException {
    String id = RequestIds.of(request);
    MDC.put("request", id);
    response.setHeader(RequestIds.HEADER, id);
    refused
        .retryAfterSeconds()
        .ifPresent(seconds -> response.setHeader("Retry-After", Integer.toString(seconds)));
    if (door.answer(request, response, refused)) {
      MDC.remove("request");
      return;
    }
    challenge(response, refused, request.getHeader("Authorization") != null);
    response.setStatus(refused.status());
    response.setContentType("application/fhir+json;charset=UTF-8");
    response.setHeader("Cache-Control", "no-store");
    response
        .getWriter()
        .write(context.newJsonParser().encodeResourceToString(Outcomes.of(refused)));
    MDC.remove("request");
  }

  /** Says what is missing (RFC 6750, section 3); without a token nothing is said to be wrong. */
  static void challenge(HttpServletResponse response, Problem refused, boolean tokenSent) {
    if (refused.status() == Problem.Kind.UNAUTHORIZED.status()) {
      response.setHeader(
          CHALLENGE, "Bearer realm=\"tidemark\"" + (tokenSent ? ", error=\"invalid_token\"" : ""));
    } else if (refused.status() == Problem.Kind.FORBIDDEN.status()) {
      response.setHeader(CHALLENGE, "Bearer realm=\"tidemark\", error=\"insufficient_scope\"");
    }
  }
}
