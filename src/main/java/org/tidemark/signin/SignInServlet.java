package org.tidemark.signin;

import jakarta.inject.Inject;
import jakarta.servlet.annotation.WebServlet;
import jakarta.servlet.http.HttpServlet;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.util.LinkedHashMap;
import java.util.Map;
import java.util.Optional;
import org.jboss.logging.Logger;
import org.tidemark.application.Faults;
import org.tidemark.audit.Visit;
import org.tidemark.clinic.Clinic;
import org.tidemark.http.AccessSettings;
import org.tidemark.http.RequestIds;
import org.tidemark.signin.SignInProblem.Kind;

/**
 * Signing in and out: {@code GET /signin/callback} takes who comes from the issuer, {@code GET
 * /signin/again} asks for somebody else, {@code POST /signin/out} signs out here and then at the
 * issuer, {@code GET /signin/left} says so.
 */
@WebServlet(name = "signin", urlPatterns = "/signin/*")
public class SignInServlet extends HttpServlet {
  private static final long serialVersionUID = 1L;
  private static final Logger LOG = Logger.getLogger(SignInServlet.class);

  private static final String LEFT = "/signin/left";
  private static final String OUT = "/out";

  @Inject transient SignInSettings settings;
  @Inject transient AccessSettings access;
  @Inject transient PageSignIn door;
  @Inject transient Issuer issuer;
  @Inject transient Admitting admitting;
  @Inject transient Sessions sessions;
  @Inject transient SignInPage page;

  @Override
  protected void service(HttpServletRequest request, HttpServletResponse response)
      throws IOException {
    response.setHeader(RequestIds.HEADER, RequestIds.of(request));
    String path = Optional.ofNullable(request.getPathInfo()).orElse("");
    String method = path.equals(OUT) ? "POST" : "GET";
    if (!settings.isOn() || !path.matches("/(callback|again|out|left)")) {
      response.setStatus(HttpServletResponse.SC_NOT_FOUND);
    } else if (!request.getMethod().equals(method)) {
      response.setHeader("Allow", method);
      response.setStatus(HttpServletResponse.SC_METHOD_NOT_ALLOWED);
    } else {
      answer(path, request, response);
    }
  }

  private void answer(String path, HttpServletRequest request, HttpServletResponse response)
      throws IOException {
    Clinic at = door.at(request);
    try {
      switch (path) {
        case "/callback" -> letIn(request, response, at);
        case "/again" -> door.send(request, response, "/", Map.of("prompt", "login"));
        case OUT -> signOut(request, response, at);
        default -> page.left(request, response, at);
      }
    } catch (SignInProblem refused) {
      LOG.infof("Somebody was not signed in: %s", refused.getMessage());
      page.refuse(request, response, at, refused.kind());
    } catch (RuntimeException fault) {
      if (Faults.outage(fault).isEmpty()) {
        throw fault;
      }
      page.refuse(request, response, at, Kind.BUSY);
    }
  }

  private void letIn(HttpServletRequest request, HttpServletResponse response, Clinic at)
      throws SignInProblem {
    Cookies cookies = new Cookies(request, at);
    Attempt attempt =
        one(request, "state")
            .flatMap(cookies::attempt)
            .orElseThrow(
                () -> new SignInProblem(Kind.STATE, "The state is none of this browser's."));
    cookies.drop(attempt, response);
    requireIssuer(request);
    requireAgreed(request);
    String code =
        one(request, "code")
            .orElseThrow(() -> new SignInProblem(Kind.REFUSED, "The issuer has sent no code."));
    Issuer.Tokens given = issuer.tokens(code, attempt, PageSignIn.redirect(at));
    Session session = admitting.admit(given, attempt.nonce(), at);
    Visit.sentBy(settings.clientId(), session.user());
    cookies.session().ifPresent(before -> sessions.end(before, at));
    cookies.keep(sessions.begin(session, at), response);
    goTo(attempt.path(), response);
  }

  /** Who answers says so where it can (RFC 9207), so that no other passes its codes off here. */
  private void requireIssuer(HttpServletRequest request) throws SignInProblem {
    String[] told = request.getParameterValues("iss");
    if (told != null && !(told.length == 1 && told[0].equals(access.issuer()))) {
      throw new SignInProblem(Kind.NOT_TRUSTED, "Another issuer has answered.");
    }
  }

  private static void requireAgreed(HttpServletRequest request) throws SignInProblem {
    String error = request.getParameter("error");
    if (error != null) {
      boolean declined = error.equals("access_denied");
      throw new SignInProblem(
          declined ? Kind.DECLINED : Kind.REFUSED,
          "The issuer has answered " + error.replaceAll("[^\\x20-\\x7e]", "?") + ".");
    }
  }

  /** A parameter that is there once. */
  private static Optional<String> one(HttpServletRequest request, String name) {
    String[] values = request.getParameterValues(name);
    return values == null || values.length != 1 || values[0].isBlank()
        ? Optional.empty()
        : Optional.of(values[0]);
  }

  private void signOut(HttpServletRequest request, HttpServletResponse response, Clinic at)
      throws IOException {
    Cookies cookies = new Cookies(request, at);
    Optional<Session> session = cookies.session().flatMap(secret -> sessions.end(secret, at));
    cookies.dropSession(response);
    session.ifPresent(ended -> Visit.sentBy(settings.clientId(), ended.user()));
    Optional<String> further = session.flatMap(ended -> atIssuer(ended, at));
    if (further.isPresent()) {
      page.leave(request, response, at, further.get());
    } else {
      goTo(LEFT, response);
    }
  }

  /** Where somebody is signed out at the issuer too (OpenID Connect RP-Initiated Logout 1.0). */
  private Optional<String> atIssuer(Session ended, Clinic at) {
    Map<String, String> asked = new LinkedHashMap<>();
    asked.put("id_token_hint", ended.id());
    asked.put("client_id", settings.clientId());
    asked.put("post_logout_redirect_uri", SignInSettings.origin(at) + LEFT);
    try {
      return issuer.endpoints().endSession().map(where -> Issuer.with(where, asked));
    } catch (SignInProblem notTold) {
      LOG.infof("Somebody was signed out here only: %s", notTold.getMessage());
      return Optional.empty();
    }
  }

  private static void goTo(String path, HttpServletResponse response) {
    response.setStatus(HttpServletResponse.SC_SEE_OTHER);
    response.setHeader("Location", path);
  }
}
