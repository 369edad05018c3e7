package org.tidemark.fhir;

import java.util.function.Supplier;
import java.util.regex.Matcher;
import java.util.regex.Pattern;

/**
 * One written form for each thing that a reference can point to, so that references can be
 * compared.
 *
 * <p>A record of ours is {@code Patient/x}, in whatever form it was given: relative, absolute under
 * our own base, with or without a version. A record elsewhere is its absolute URL without version.
 * Canonicals, URNs and references to contained resources stay as they are.
 */
public final class References {
  private static final Pattern LITERAL =
      Pattern.compile(
          "((?:https?|HTTPS?)://.+/)?([A-Z][A-Za-z]{1,39})/([A-Za-z0-9\\-.]{1,64})(?:/_history/[A-Za-z0-9\\-.]{1,64})?");

  private final Supplier<String> base;

  /**
   * References as seen from one server.
   *
   * @param base the server's own base URL, with or without a slash at the end
   */
  public References(String base) {
    this(() -> base.endsWith("/") ? base : base + "/");
  }

  /**
   * References as seen from one of the servers that this one is.
   *
   * @param base gives the base URL that counts at the moment, with a slash at the end
   */
  public References(Supplier<String> base) {
    this.base = base;
  }

  /** Our own base URL, with a slash at the end. */
  public String base() {
    return base.get();
  }

  /**
   * The one form of a reference.
   *
   * @param reference as it was written; null counts as empty
   * @return {@code Type/id} for a record of ours, else the absolute URL without version, else the
   *     text itself
   */
  public String normal(String reference) {
    if (reference == null) {
      return "";
    }
    Matcher literal = LITERAL.matcher(reference);
    if (!literal.matches()) {
      return reference;
    }
    String prefix = literal.group(1);
    String local = literal.group(2) + "/" + literal.group(3);
    return prefix == null || prefix.equals(base()) ? local : prefix + local;
  }

  /**
   * Whether a normal reference points to a record of ours.
   *
   * @param normal a reference in its normal form
   * @return true for {@code Type/id}
   */
  public static boolean isLocal(String normal) {
    Matcher literal = LITERAL.matcher(normal);
    return literal.matches() && literal.group(1) == null;
  }

  /**
   * The type that a reference names.
   *
   * @param normal a reference in its normal form
   * @return the type, or empty when the reference does not say
   */
  public static String typeOf(String normal) {
    Matcher literal = LITERAL.matcher(normal);
    return literal.matches() ? literal.group(2) : "";
  }

  /**
   * The id that a reference names.
   *
   * @param normal a reference in its normal form
   * @return the id, or empty when the reference does not say
   */
  public static String idOf(String normal) {
    Matcher literal = LITERAL.matcher(normal);
    return literal.matches() ? literal.group(3) : "";
  }
}
