package org.tidemark.application;

/** What becomes of a search parameter that is not offered, as {@code Prefer: handling} says. */
public enum Handling {
  /** The search is refused. */
  STRICT,
  /** The search is carried out without it, and the answer says so. */
  LENIENT
}
