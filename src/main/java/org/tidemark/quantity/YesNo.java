package org.tidemark.quantity;

/**
 * An answer of yes or no.
 *
 * @param yes whether the answer is yes
 */
public record YesNo(boolean yes) implements Value {
  public static final YesNo YES = new YesNo(true);
  public static final YesNo NO = new YesNo(false);
}
