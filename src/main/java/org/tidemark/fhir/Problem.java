package org.tidemark.fhir;

import java.util.List;

/** Something wrong with what a client sent, with where it is. */
public final class Problem extends RuntimeException {
  private static final long serialVersionUID = 1L;

  /** What kind of wrong. */
  public enum Kind {
    MALFORMED,
    UNKNOWN_ELEMENT,
    OUT_OF_RANGE,
    WRONG_UNIT,
    MISSING,
    UNKNOWN_REFERENCE,
    UNKNOWN_PROGRAMME,
    BUSINESS_RULE,
    IMMUTABLE,
    FUTURE_DATE,
    NOT_FOUND,
    VERSION_CONFLICT,
    UNSUPPORTED
  }

  private final Kind kind;
  private final transient List<String> expressions;
  private final transient List<Problem> parts;

  private Problem(Kind kind, String text, List<String> expressions, List<Problem> parts) {
    super(text);
    this.kind = kind;
    this.expressions = expressions;
    this.parts = parts;
  }

  public static Problem of(Kind kind, String text, String... expressions) {
    return new Problem(kind, text, List.of(expressions), List.of());
  }

  /** Several problems of one submission. */
  public static Problem all(List<Problem> problems) {
    Problem first = problems.get(0);
    return new Problem(first.kind, first.getMessage(), first.expressions, List.copyOf(problems));
  }

  public Kind kind() {
    return kind;
  }

  public List<String> expressions() {
    return expressions;
  }

  /** The single problems; this one alone when it is single. */
  public List<Problem> parts() {
    return parts.isEmpty() ? List.of(this) : parts;
  }
}
