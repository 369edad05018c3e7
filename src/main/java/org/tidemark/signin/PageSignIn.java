package org.tidemark.signin;

import jakarta.enterprise.context.ApplicationScoped;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.jboss.logging.Logger;
import org.tidemark.clinic.ActingClinic;
import org.tidemark.clinic.Clinic;
import org.tidemark.clinic.Clinics;
import org.tidemark.fhir.Problem;
import org.tidemark.http.AccessSettings;
import org.tidemark.http.PageDoor;
import org.tidemark.http.Pages;
import org.tidemark.signin.SignInProblem.Kind;

/**
 * The door of the pages: knows the browser of who has signed in, and sends everyone else to the
 * issuer (OpenID Connect Core 1.0, 3.1; PKCE, RFC 7636).
 */
@ApplicationScoped
class PageSignIn implements PageDoor {
  /** Where the issuer sends somebody back. */
  static final String CALLBACK = PATH + "/callback";

  private static final Logger LOG = Logger.getLogger(PageSignIn.class);

  private static final Set<String> READING = Set.of("GET", "HEAD");
  private static final Set<String> FROM_HERE = Set.of("same-origin", "none");
  private static final int UNAUTHORIZED = Problem.Kind.UNAUTHORIZED.status();
  private static final int FORBIDDEN = Problem.Kind.FORBIDDEN.status();

  private final SignInSettings settings;
  private final Clinics clinics;
  private final Sessions sessions;
  private final Issuer issuer;
  private final Admitting admitting;
  private final SignInPage page;

  PageSignIn(
      SignInSettings settings,
      Clinics clinics,
      Sessions sessions,
      Issuer issuer,
      Admitting admitting,
      SignInPage page) {
    this.settings = settings;
    this.clinics = clinics;
    this.sessions = sessions;
    this.issuer = issuer;
    this.admitting = admitting;
    this.page = page;
  }

  @Override
  public void check() {
    settings.isOn();
  }

  /** The clinic whose pages are asked for. */
  Clinic at(HttpServletRequest request) {
    return clinics.reachedAt(request.getServerName(), request.getServerPort());
  }

  @Override
  public Optional<String> token(HttpServletRequest request) {
    if (!settings.isOn() || !isSentByOurs(request)) {
      return Optional.empty();
    }
    Clinic at = at(request);
    Optional<Session> session =
        new Cookies(request, at)
            .session()
            .flatMap(secret -> ActingClinic.call(at.id(), () -> sessions.find(secret, at)));
    session.ifPresent(found -> Pages.sentBy(request, found.shown()));
    return session.map(Session::access);
  }

  /**
   * Others may lead to a page of ours, and to nothing else; a portal that may send requests sends
   * tokens of its own with them.
   */
  private static boolean isSentByOurs(HttpServletRequest request) {
    String site = request.getHeader("Sec-Fetch-Site");
    return site == null
        || FROM_HERE.contains(site.toLowerCase(Locale.ROOT))
        || (READING.contains(request.getMethod()) && isPage(request));
  }

  private static boolean isPage(HttpServletRequest request) {
    String place = request.getServletPath();
    String path = request.getRequestURI();
    return place.equals("/plan") || place.equals("/guide") || path.equals("/");
  }

  @Override
  public boolean answer(HttpServletRequest request, HttpServletResponse response, Problem refused)
      throws IOException {
    boolean looksAtPage =
        settings.isOn()
            && READING.contains(request.getMethod())
            && isPage(request)
            && request.getHeader("Authorization") == null
            && Optional.ofNullable(request.getHeader("Accept")).orElse("").contains("text/html");
    if (!looksAtPage) {
      return false;
    }
    if (refused.status() == UNAUTHORIZED) {
      send(request, response, asked(request), Map.of());
    } else if (refused.status() == FORBIDDEN) {
      List<String> missing = missing(request);
      if (missing.isEmpty()) {
        page.refuse(request, response, at(request), Kind.CLINIC);
      } else {
        page.refuse(request, response, at(request), missing);
      }
    } else {
      page.askToWait(request, response, at(request), refused.status());
    }
    return true;
  }

  private static String asked(HttpServletRequest request) {
    String query = request.getQueryString();
    return request.getRequestURI() + (query == null ? "" : "?" + query);
  }

  private List<String> missing(HttpServletRequest request) {
    try {
      return token(request).map(admitting::missing).orElse(List.of());
    } catch (Problem noGoodToken) {
      return List.of();
    }
  }

  /**
   * Sends somebody to the issuer.
   *
   * @param path where they want to come back to
   * @param more further parameters of the request
   */
  void send(
      HttpServletRequest request,
      HttpServletResponse response,
      String path,
      Map<String, String> more)
      throws IOException {
    Clinic at = at(request);
    Attempt attempt = Attempt.begin(path);
    Map<String, String> asked = new LinkedHashMap<>();
    asked.put("response_type", "code");
    asked.put("client_id", settings.clientId());
    asked.put("redirect_uri", redirect(at));
    asked.put("scope", settings.scopes());
    asked.put("state", attempt.state());
    asked.put("nonce", attempt.nonce());
    asked.put("code_challenge", attempt.challenge());
    asked.put("code_challenge_method", "S256");
    asked.put("aud", AccessSettings.audience(at));
    asked.put("ui_locales", SignInPage.language(request, at).toLanguageTag());
    asked.putAll(settings.parameters());
    asked.putAll(more);
    try {
      String where = Issuer.with(issuer.endpoints().authorization(), asked);
      new Cookies(request, at).keep(attempt, response);
      response.setStatus(HttpServletResponse.SC_FOUND);
      response.setHeader("Location", where);
    } catch (SignInProblem refused) {
      LOG.warnf("Nobody can sign in: %s", refused.getMessage());
      page.refuse(request, response, at, refused.kind());
    }
  }

  /** Where the issuer sends somebody back to. */
  static String redirect(Clinic at) {
    return SignInSettings.origin(at) + CALLBACK;
  }
}
