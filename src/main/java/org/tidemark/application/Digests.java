package org.tidemark.application;

import java.nio.charset.StandardCharsets;
import java.security.MessageDigest;
import java.security.NoSuchAlgorithmException;
import java.util.HexFormat;
import java.util.stream.Stream;

/** Short names for long contents. */
final class Digests {
  private static final int LINE_END = '\n';

  private Digests() {}

  /** The SHA-256 of some lines, as 64 hexadecimal digits. */
  static String of(Stream<String> lines) {
    try {
      MessageDigest digest = MessageDigest.getInstance("SHA-256");
      lines.forEach(
          line -> {
            digest.update(line.getBytes(StandardCharsets.UTF_8));
            digest.update((byte) LINE_END);
          });
      return HexFormat.of().formatHex(digest.digest());
    } catch (NoSuchAlgorithmException e) {
      throw new IllegalStateException("every Java platform has SHA-256", e);
    }
  }
}
