package org.tidemark.signin;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;

import java.util.Base64;
import java.util.Optional;
import org.junit.jupiter.api.Test;

/** What is kept of a session lets in nobody but the browser that has its secret. */
class SessionTest {
  private static final Session SESSION =
      new Session(
          "an-access-token",
          1_800_000_000L,
          Optional.of("a-refresh-token"),
          "an-id-token",
          "ada",
          "Ada Wren",
          "Practitioner/ada-wren",
          "default");

  @Test
  void itsSecretOpensItAndNoOther() {
    Secret secret = Secret.random();
    String sealed = SESSION.sealed(secret);
    assertEquals(SESSION, Session.opened(sealed, secret));
    assertThrows(IllegalStateException.class, () -> Session.opened(sealed, Secret.random()));
  }

  @Test
  void aRowTellsNeitherTokensNorSecret() {
    Secret secret = Secret.random();
    StringBuilder told = new StringBuilder(secret.text("session") + SESSION.sealed(secret));
    for (String part : SESSION.sealed(secret).split("\\.")) {
      told.append(
          new String(
              Base64.getUrlDecoder().decode(part), java.nio.charset.StandardCharsets.ISO_8859_1));
    }
    for (String hidden : new String[] {"token", "ada", "Ada", secret.text()}) {
      assertFalse(told.toString().contains(hidden), hidden);
    }
    assertNotEquals(secret.text("session"), secret.text("seal"));
  }

  @Test
  void whatWasChangedDoesNotOpen() {
    Secret secret = Secret.random();
    String sealed = SESSION.sealed(secret);
    for (int at = 0; at < sealed.length(); at++) {
      char other = sealed.charAt(at) == 'A' ? 'w' : 'A';
      String changed = sealed.substring(0, at) + other + sealed.substring(at + 1);
      boolean inPadding = at == sealed.length() - 1;
      if (!inPadding) {
        assertThrows(
            RuntimeException.class, () -> Session.opened(changed, secret), "changed at " + at);
      }
    }
  }
}
