package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.nio.charset.StandardCharsets;
import java.security.MessageDigest;
import java.security.NoSuchAlgorithmException;
import java.time.Clock;
import java.util.Base64;
import org.tidemark.store.LostRace;
import org.tidemark.store.SandboxStore;

/** Takes each token by which a client shows who it is once, whichever instance it comes to. */
@ApplicationScoped
public class Assertions {
  private final SandboxStore store;
  private final Clock clock;

  Assertions(SandboxStore store, Clock clock) {
    this.store = store;
    this.clock = clock;
  }

  /**
   * Takes a token, in a transaction of its own.
   *
   * @param client who has signed it, at most 200 characters
   * @param jti its id
   * @param untilMs until when it could be sent again, ms since 1970 UTC
   * @return false when it was taken before
   */
  public boolean take(String client, String jti, long untilMs) {
    try {
      QuarkusTransaction.requiringNew()
          .run(() -> store.take(client, hash(jti), untilMs, clock.millis()));
      return true;
    } catch (RuntimeException e) {
      if (!LostRace.isLostRace(e)) {
        throw e;
      }
      return false;
    }
  }

  private static String hash(String jti) {
    try {
      byte[] text = jti.getBytes(StandardCharsets.UTF_8);
      return Base64.getEncoder().encodeToString(MessageDigest.getInstance("SHA-256").digest(text));
    } catch (NoSuchAlgorithmException e) {
      throw new IllegalStateException("every Java has SHA-256", e);
    }
  }
}
