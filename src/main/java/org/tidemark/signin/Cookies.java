package org.tidemark.signin;

import jakarta.servlet.http.Cookie;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.util.Arrays;
import java.util.List;
import java.util.Optional;
import java.util.stream.Stream;
import org.tidemark.clinic.Clinic;

/**
 * The cookies of the sign-in. No script reads them, other sites make a browser send them only by
 * leading to a page, and with TLS no other host or plain connection can set them ({@code __Host-}).
 */
final class Cookies {
  private static final String SESSION = "tidemark";
  private static final String ATTEMPT = "tidemark-signin-";

  /** So many sign-ins may be begun in one browser; then those before are forgotten. */
  private static final int MOST_ATTEMPTS = 8;

  /** How long somebody may take to sign in, seconds. */
  private static final int PATIENCE_SECONDS = 900;

  private final HttpServletRequest request;
  private final boolean secure;

  Cookies(HttpServletRequest request, Clinic clinic) {
    this.request = request;
    this.secure = SignInSettings.isSecure(clinic);
  }

  private String named(String name) {
    return secure ? "__Host-" + name : name;
  }

  private Stream<Cookie> all() {
    return Optional.ofNullable(request.getCookies()).stream().flatMap(Arrays::stream);
  }

  private Optional<String> find(String name) {
    return all()
        .filter(cookie -> cookie.getName().equals(named(name)))
        .map(Cookie::getValue)
        .findFirst();
  }

  /** The secret of the session that the browser has, if it sends one. */
  Optional<Secret> session() {
    return find(SESSION).flatMap(Secret::read);
  }

  /** The attempt that has this {@code state}. */
  Optional<Attempt> attempt(String state) {
    return find(ATTEMPT + Attempt.name(state))
        .flatMap(Attempt::read)
        .filter(attempt -> Secret.isSame(attempt.state(), state));
  }

  /** Keeps a session in the browser, until that is closed. */
  void keep(Secret session, HttpServletResponse response) {
    set(response, SESSION, session.text(), "");
  }

  /** Keeps an attempt in the browser. */
  void keep(Attempt attempt, HttpServletResponse response) {
    List<String> before =
        all().map(Cookie::getName).filter(name -> name.startsWith(named(ATTEMPT))).toList();
    if (before.size() >= MOST_ATTEMPTS) {
      before.stream()
          .map(name -> name.substring(named("").length()))
          .forEach(name -> drop(name, response));
    }
    set(response, ATTEMPT + attempt.name(), attempt.cookie(), "; Max-Age=" + PATIENCE_SECONDS);
  }

  void dropSession(HttpServletResponse response) {
    drop(SESSION, response);
  }

  void drop(Attempt attempt, HttpServletResponse response) {
    drop(ATTEMPT + attempt.name(), response);
  }

  private void drop(String name, HttpServletResponse response) {
    set(response, name, "", "; Max-Age=0");
  }

  private void set(HttpServletResponse response, String name, String value, String more) {
    response.addHeader(
        "Set-Cookie",
        named(name)
            + "="
            + value
            + "; Path=/; HttpOnly; SameSite=Lax"
            + (secure ? "; Secure" : "")
            + more);
  }
}
