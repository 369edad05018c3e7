package org.tidemark.programme;

/** The side of the body that a plan is for. Sides are never mixed. */
public enum Side {
  LEFT,
  RIGHT;

  /** {@code left} or {@code right}. */
  public String code() {
    return name().toLowerCase(java.util.Locale.ROOT);
  }
}
