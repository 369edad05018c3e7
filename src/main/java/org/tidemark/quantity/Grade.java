package org.tidemark.quantity;

/**
 * One step of an ordered scale that has no unit, such as the help of the hands.
 *
 * @param code the code of the grade in its code system, never blank
 */
public record Grade(String code) implements Value {
  public Grade {
    if (code.isBlank()) {
      throw new IllegalArgumentException("a grade needs a code");
    }
  }
}
