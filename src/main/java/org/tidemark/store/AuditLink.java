package org.tidemark.store;

import java.nio.charset.StandardCharsets;
import java.security.MessageDigest;
import java.security.NoSuchAlgorithmException;
import java.util.HexFormat;

/**
 * An entry in its place in the chain.
 *
 * @param seq its number; the first is 1
 * @param entry the entry
 * @param hash SHA-256 over the hash before it, the clinic, the number and every value of the entry,
 *     each with its length before it, in hexadecimal
 */
public record AuditLink(long seq, AuditEntry entry, String hash) {
  /** What stands before the first link. */
  public static final String NOTHING = "";

  /** The link that follows one. */
  static AuditLink after(String before, String clinic, long seq, AuditEntry entry) {
    return new AuditLink(seq, entry, hash(before, clinic, seq, entry));
  }

  /** Whether this is what follows a link with that hash. */
  boolean follows(String before, String clinic) {
    return hash.equals(hash(before, clinic, seq, entry));
  }

  private static String hash(String before, String clinic, long seq, AuditEntry entry) {
    try {
      MessageDigest digest = MessageDigest.getInstance("SHA-256");
      add(digest, before);
      add(digest, clinic);
      add(digest, seq);
      entry.values().forEach(value -> add(digest, value));
      return HexFormat.of().formatHex(digest.digest());
    } catch (NoSuchAlgorithmException e) {
      throw new IllegalStateException("every Java has SHA-256", e);
    }
  }

  /** The length keeps two values apart from the same text split elsewhere. */
  private static void add(MessageDigest digest, Object value) {
    byte[] text = value.toString().getBytes(StandardCharsets.UTF_8);
    digest.update((text.length + ":").getBytes(StandardCharsets.UTF_8));
    digest.update(text);
  }
}
