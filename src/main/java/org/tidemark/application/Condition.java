package org.tidemark.application;

import java.net.URLDecoder;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.UUID;
import org.tidemark.fhir.Problem;

/**
 * The condition of a conditional interaction: a search that at most one record matches.
 *
 * @param query the search parameters, one or more
 * @param expression the FHIRPath of the element, or the header, it was given in
 */
public record Condition(Map<String, List<String>> query, String expression) {

  /**
   * An identifier, whole.
   *
   * @param system its system, empty for one without
   * @param value its value
   */
  public record Identifier(String system, String value) {}

  /**
   * Reads a condition.
   *
   * @param query search parameters such as {@code identifier=system|value}, percent-encoded or not,
   *     with or without {@code Type?} before them
   * @param expression the FHIRPath of the element, or the header, it was given in
   * @return the condition
   * @throws Problem when it is no search, or one for an identifier that is not whole
   */
  public static Condition read(String query, String expression) {
    Map<String, List<String>> parameters = new LinkedHashMap<>();
    for (String pair : query.substring(query.indexOf('?') + 1).split("&")) {
      int equals = pair.indexOf('=');
      if (equals <= 0) {
        throw refused(expression);
      }
      parameters
          .computeIfAbsent(decoded(pair.substring(0, equals), expression), n -> new ArrayList<>())
          .add(decoded(pair.substring(equals + 1), expression));
    }
    return of(parameters, expression);
  }

  /**
   * The condition that these parameters are.
   *
   * @param query the parameters with their values, decoded
   * @param expression the FHIRPath of the element, or the header, it was given in
   * @return the condition
   * @throws Problem as {@link #read}
   */
  static Condition of(Map<String, List<String>> query, String expression) {
    boolean search =
        !query.isEmpty()
            && query.keySet().stream().allMatch(name -> !name.startsWith("_") || name.equals("_id"))
            && query.values().stream().flatMap(List::stream).noneMatch(String::isBlank);
    Condition condition = new Condition(query, expression);
    boolean half = query.keySet().equals(Set.of("identifier")) && condition.identifier().isEmpty();
    if (!search || half) {
      throw refused(expression);
    }
    return condition;
  }

  private static String decoded(String text, String expression) {
    try {
      return URLDecoder.decode(text.replace("+", "%2B"), StandardCharsets.UTF_8);
    } catch (IllegalArgumentException e) {
      throw refused(expression);
    }
  }

  /** The identifier, when the condition is one and nothing else. */
  Optional<Identifier> identifier() {
    List<String> values = query.getOrDefault("identifier", List.of());
    if (query.size() != 1 || values.size() != 1) {
      return Optional.empty();
    }
    List<String> parts = Searching.split(values.get(0), '|');
    String value = parts.get(parts.size() - 1);
    boolean whole =
        parts.size() <= 2 && !value.isBlank() && Searching.split(value, ',').size() == 1;
    return whole
        ? Optional.of(
            new Identifier(
                parts.size() == 2 ? Searching.unescaped(parts.get(0)) : "",
                Searching.unescaped(value)))
        : Optional.empty();
  }

  /** A name under which those who set the same condition take turns. */
  String turn(String type) {
    byte[] text = query.toString().getBytes(StandardCharsets.UTF_8);
    return type + "?" + UUID.nameUUIDFromBytes(text);
  }

  private static Problem refused(String expression) {
    return Problem.of(
        Problem.Kind.BAD_REQUEST,
        "A condition is a search, best identifier=system|value; of the parameters that begin with"
            + " '_' it may have _id only.",
        expression);
  }
}
