package org.tidemark.signin;

import java.nio.charset.StandardCharsets;
import java.util.Base64;
import java.util.Optional;
import java.util.regex.Pattern;

/**
 * Somebody is on the way to the issuer. All that must be known when they come back is in a cookie
 * of their browser, so that they may come back to another instance: {@code state}, {@code nonce}
 * and PKCE's {@code code_verifier} follow from its secret, and no address tells it.
 *
 * @param secret what only this browser has
 * @param path the page that was asked for
 */
record Attempt(Secret secret, String path) {
  /** A query is what a browser sends as one; an id is that of a record. */
  private static final Pattern OWN =
      Pattern.compile(
          "/(\\?[A-Za-z0-9\\-._~%!$&'()*+,;=:@/?]{0,1200})?"
              + "|/plan/[A-Za-z0-9\\-.]{1,64}"
              + "|/guide");

  private static final int NAMED = 16;

  /**
   * Begins one.
   *
   * @param path the page that was asked for; where it is none of ours, the first page
   */
  static Attempt begin(String path) {
    return new Attempt(Secret.random(), own(path));
  }

  /** A page of ours; the first one for any other address, so that nobody is led away. */
  static String own(String path) {
    return OWN.matcher(path).matches() ? path : "/";
  }

  /** Reads the cookie; empty where it is none of ours. */
  static Optional<Attempt> read(String cookie) {
    String[] parts = cookie.split("\\.", 2);
    if (parts.length < 2) {
      return Optional.empty();
    }
    try {
      String path = new String(Base64.getUrlDecoder().decode(parts[1]), StandardCharsets.UTF_8);
      return Secret.read(parts[0]).map(secret -> new Attempt(secret, own(path)));
    } catch (IllegalArgumentException notEncoded) {
      return Optional.empty();
    }
  }

  /** What the cookie holds. */
  String cookie() {
    return secret.text()
        + "."
        + Base64.getUrlEncoder()
            .withoutPadding()
            .encodeToString(path.getBytes(StandardCharsets.UTF_8));
  }

  /** What tells the cookies of several attempts of one browser apart. */
  String name() {
    return name(state());
  }

  /** The same, of the {@code state} that came back. */
  static String name(String state) {
    return state.substring(0, Math.min(NAMED, state.length()));
  }

  String state() {
    return secret.text("state");
  }

  String nonce() {
    return secret.text("nonce");
  }

  String verifier() {
    return secret.text("code_verifier");
  }

  /** PKCE's {@code code_challenge} by the method S256 (RFC 7636, 4.2). */
  String challenge() {
    return Secret.hash(verifier());
  }
}
