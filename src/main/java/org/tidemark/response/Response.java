package org.tidemark.response;

/** How a session went, judged from the pain during it, after it and the next morning. */
public enum Response {
  /** Nothing rose above rest: it counts toward progress. */
  SETTLED,
  /** Something rose above rest, but less than a flare. */
  STIRRED,
  /** The limb flared: the last upward change is undone. */
  FLARED,
  /** An answer is missing, as a rule the next morning's. It never counts toward progress. */
  PENDING;

  /** {@code settled}, {@code stirred}, {@code flared} or {@code pending}. */
  public String code() {
    return name().toLowerCase(java.util.Locale.ROOT);
  }
}
