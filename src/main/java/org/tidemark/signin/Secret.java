package org.tidemark.signin;

import java.nio.charset.StandardCharsets;
import java.security.GeneralSecurityException;
import java.security.MessageDigest;
import java.security.SecureRandom;
import java.util.Base64;
import java.util.Optional;
import java.util.regex.Pattern;
import javax.crypto.Mac;
import javax.crypto.spec.SecretKeySpec;

/**
 * 256 random bits that a browser keeps, and what follows from them for a purpose: none of it tells
 * the secret, nor what follows for another purpose.
 *
 * @param text the bits in base64url
 */
record Secret(String text) {
  private static final int BYTES = 32;
  private static final Pattern FORM = Pattern.compile("[A-Za-z0-9_-]{43}");
  private static final SecureRandom RANDOM = new SecureRandom();
  private static final Base64.Encoder TEXT = Base64.getUrlEncoder().withoutPadding();

  /** A new one. */
  static Secret random() {
    byte[] bytes = new byte[BYTES];
    RANDOM.nextBytes(bytes);
    return new Secret(TEXT.encodeToString(bytes));
  }

  /** One that was sent; empty where it is none. */
  static Optional<Secret> read(String text) {
    return FORM.matcher(text).matches() ? Optional.of(new Secret(text)) : Optional.empty();
  }

  /** What follows for a purpose: 256 bits. */
  byte[] bytes(String purpose) {
    try {
      Mac mac = Mac.getInstance("HmacSHA256");
      mac.init(new SecretKeySpec(text.getBytes(StandardCharsets.US_ASCII), mac.getAlgorithm()));
      return mac.doFinal(purpose.getBytes(StandardCharsets.UTF_8));
    } catch (GeneralSecurityException e) {
      throw new IllegalStateException("every Java has HMAC-SHA256", e);
    }
  }

  /** The same in base64url, 43 characters. */
  String text(String purpose) {
    return TEXT.encodeToString(bytes(purpose));
  }

  /** The SHA-256 of a text in base64url. */
  static String hash(String ascii) {
    try {
      return TEXT.encodeToString(
          MessageDigest.getInstance("SHA-256").digest(ascii.getBytes(StandardCharsets.US_ASCII)));
    } catch (GeneralSecurityException e) {
      throw new IllegalStateException("every Java has SHA-256", e);
    }
  }

  /** Whether two texts are the same, in a time that does not tell where they differ. */
  static boolean isSame(String one, String other) {
    return MessageDigest.isEqual(
        one.getBytes(StandardCharsets.UTF_8), other.getBytes(StandardCharsets.UTF_8));
  }

  /** Tells no secret. */
  @Override
  public String toString() {
    return "a secret";
  }
}
