package org.tidemark.store;

import java.util.Set;

/**
 * What one version of a record can be found by.
 *
 * @param tokens coded values
 * @param uris normalised references, canonicals and URIs
 * @param dates times
 * @param measures quantities
 * @param happenedMs the time that the record is ordered by, in milliseconds since 1970 UTC
 */
public record SearchValues(
    Set<Token> tokens, Set<Uri> uris, Set<Span> dates, Set<Measure> measures, long happenedMs) {

  /** The longest system, code or target that is kept, in characters. */
  public static final int LONGEST = 400;

  /**
   * A coded value.
   *
   * @param parameter the search parameter
   * @param system the code's system, empty when it has none
   * @param code the code
   */
  public record Token(String parameter, String system, String code) {}

  /**
   * A reference, canonical or URI.
   *
   * @param parameter the search parameter
   * @param target the normalised value
   */
  public record Uri(String parameter, String target) {}

  /**
   * The time that a value covers.
   *
   * @param parameter the search parameter
   * @param lowMs its first millisecond since 1970 UTC
   * @param highMs the first millisecond after it
   */
  public record Span(String parameter, long lowMs, long highMs) {}

  /**
   * A quantity.
   *
   * @param parameter the search parameter
   * @param unit the unit that it is compared in
   * @param amount how many of it
   * @param sentUnit the unit as it was sent
   * @param sentAmount the number as it was sent
   */
  public record Measure(
      String parameter, String unit, double amount, String sentUnit, double sentAmount) {}
}
