package org.tidemark.application;

import java.net.URLDecoder;
import java.nio.charset.StandardCharsets;
import org.tidemark.fhir.Problem;

/**
 * The condition of a conditional create or reference: an identifier that at most one record has.
 *
 * @param system the identifier's system, empty for one without
 * @param value the identifier's value
 */
public record Condition(String system, String value) {

  /**
   * Reads a condition.
   *
   * @param query {@code identifier=system|value} or {@code identifier=value}, percent-encoded or
   *     not, with or without {@code Type?} before it
   * @param expression the FHIRPath of the element, or the header, it was given in
   * @return the condition
   * @throws Problem when it is anything else
   */
  public static Condition read(String query, String expression) {
    String plain = query.substring(query.indexOf('?') + 1);
    String name = "identifier=";
    if (!plain.startsWith(name) || plain.indexOf('&') >= 0) {
      throw refused(expression);
    }
    String identifier;
    try {
      identifier =
          URLDecoder.decode(
              plain.substring(name.length()).replace("+", "%2B"), StandardCharsets.UTF_8);
    } catch (IllegalArgumentException e) {
      throw refused(expression);
    }
    int bar = identifier.indexOf('|');
    String system = bar < 0 ? "" : identifier.substring(0, bar);
    String value = identifier.substring(bar + 1);
    if (value.isBlank() || value.indexOf(',') >= 0 || value.indexOf('|') >= 0) {
      throw refused(expression);
    }
    return new Condition(system, value);
  }

  private static Problem refused(String expression) {
    return Problem.of(
        Problem.Kind.BAD_REQUEST,
        "A condition is given as identifier=system|value, and as nothing else.",
        expression);
  }
}
