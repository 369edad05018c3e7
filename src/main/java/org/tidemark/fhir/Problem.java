package org.tidemark.fhir;

import java.util.List;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.OperationOutcome.IssueType;

/**
 * A request that is refused, and why: one or more issues, each with a kind, a sentence and the
 * FHIRPath of the elements at fault.
 *
 * <p>A problem is the client's, never ours: it becomes a 4xx with an OperationOutcome. Its text is
 * shown to the client, so it carries no internals.
 */
public final class Problem extends RuntimeException {
  private static final long serialVersionUID = 1L;

  /** The system of {@link Kind#code}. */
  public static final String CODE_SYSTEM = "https://tidemark.example/fhir/CodeSystem/problem";

  /** Kinds of problem: HTTP status, FHIR's issue type, and our own stable code. */
  public enum Kind {
    /** Not JSON, not XML, or not a resource. */
    MALFORMED(400, IssueType.STRUCTURE, "malformed"),
    /** The body is of another type or id than the address says. */
    MISMATCH(400, IssueType.INVALID, "mismatch"),
    /** The address or a search parameter cannot be understood. */
    BAD_REQUEST(400, IssueType.INVALID, "bad-request"),
    /** The search parameter is not declared for this type. */
    UNKNOWN_PARAMETER(400, IssueType.NOTSUPPORTED, "unknown-parameter"),
    /** The element is not part of FHIR R4 at this place. */
    UNKNOWN_ELEMENT(422, IssueType.STRUCTURE, "unknown-element"),
    /** The element's shape is wrong: a list for a single value, a number for a text. */
    WRONG_SHAPE(422, IssueType.STRUCTURE, "wrong-shape"),
    /** The value is not one that its type allows. */
    INVALID_VALUE(422, IssueType.VALUE, "invalid-value"),
    /** The value is beyond a stated limit. */
    OUT_OF_RANGE(422, IssueType.VALUE, "out-of-range"),
    /** The unit does not measure what the element measures. */
    WRONG_UNIT(422, IssueType.VALUE, "wrong-unit"),
    /** A text contains a character that FHIR does not allow. */
    BAD_CHARACTER(422, IssueType.VALUE, "bad-character"),
    /** A required element is missing. */
    MISSING(422, IssueType.REQUIRED, "missing"),
    /** A reference to a record that does not exist here. */
    UNKNOWN_REFERENCE(422, IssueType.NOTFOUND, "unknown-reference"),
    /** A programme, or version of one, that is not known here. */
    UNKNOWN_PROGRAMME(422, IssueType.NOTFOUND, "unknown-programme"),
    /** A rule of the service forbids it. */
    BUSINESS_RULE(422, IssueType.BUSINESSRULE, "business-rule"),
    /** The element cannot be changed once written. */
    IMMUTABLE(422, IssueType.BUSINESSRULE, "immutable"),
    /** It is dated in the future. */
    FUTURE_DATE(422, IssueType.VALUE, "future-date"),
    /** The content changes the meaning of the resource in a way that is not known here. */
    UNSUPPORTED(422, IssueType.NOTSUPPORTED, "unsupported"),
    /** An operation of a patch cannot be carried out, or its test fails. */
    PATCH_FAILED(422, IssueType.PROCESSING, "patch-failed"),
    /** There is no such record, version or type. */
    NOT_FOUND(404, IssueType.NOTFOUND, "not-found"),
    /** The record was there and has been deleted. */
    DELETED(410, IssueType.DELETED, "deleted"),
    /** The method is not offered at this address. */
    NOT_ALLOWED(405, IssueType.NOTSUPPORTED, "not-allowed"),
    /** None of the formats that the client accepts is offered. */
    NOT_ACCEPTABLE(406, IssueType.NOTSUPPORTED, "not-acceptable"),
    /** Other records refer to it, or a plan rests on it. */
    IN_USE(409, IssueType.CONFLICT, "in-use"),
    /** The record has changed since the client read it. */
    VERSION_CONFLICT(412, IssueType.CONFLICT, "version-conflict"),
    /** More than one record matches a condition that must match one. */
    MULTIPLE_MATCHES(412, IssueType.MULTIPLEMATCHES, "multiple-matches"),
    /** A condition that must match a record matches none. */
    NO_MATCH(412, IssueType.NOTFOUND, "no-match"),
    /** The same thing is given twice. */
    DUPLICATE(422, IssueType.DUPLICATE, "duplicate"),
    /** The body is larger than the stated limit. */
    TOO_LARGE(413, IssueType.TOOLONG, "too-large"),
    /** The body is in a format that is not offered. */
    UNSUPPORTED_FORMAT(415, IssueType.NOTSUPPORTED, "unsupported-format"),
    /** Too many writers at once; the request may be sent again as it is. */
    BUSY(503, IssueType.LOCKERROR, "busy");

    private final int status;
    private final IssueType issueType;
    private final String code;

    Kind(int status, IssueType issueType, String code) {
      this.status = status;
      this.issueType = issueType;
      this.code = code;
    }

    /** The HTTP status. */
    public int status() {
      return status;
    }

    /** FHIR's issue type. */
    public IssueType issueType() {
      return issueType;
    }

    /** Our own code, in {@link #CODE_SYSTEM}; it does not change between versions. */
    public String code() {
      return code;
    }
  }

  /**
   * One complaint.
   *
   * @param kind its kind
   * @param text a sentence for the person who reads it
   * @param expressions FHIRPath of the elements at fault; empty when it is about the whole request
   */
  public record Issue(Kind kind, String text, List<String> expressions) {
    /** Copies the expressions. */
    public Issue {
      expressions = List.copyOf(expressions);
    }

    /** The same complaint about a resource inside a Bundle. */
    private Issue inside(String entry) {
      return new Issue(
          kind,
          text,
          expressions.isEmpty()
              ? List.of(entry)
              : expressions.stream().map(expression -> inside(entry, expression)).toList());
    }

    private static String inside(String entry, String expression) {
      if (expression.startsWith("Bundle.entry[")) {
        return expression;
      }
      int dot = expression.indexOf('.');
      return entry + ".resource" + (dot < 0 ? "" : expression.substring(dot));
    }
  }

  private final transient List<Issue> issues;

  private Problem(List<Issue> issues) {
    super(issues.stream().map(Issue::text).collect(Collectors.joining("; ")));
    this.issues = issues;
  }

  /**
   * One issue.
   *
   * @param kind its kind
   * @param text a sentence for the person who reads it
   * @param expressions FHIRPath of the elements at fault
   * @return the problem, to be thrown
   */
  public static Problem of(Kind kind, String text, String... expressions) {
    return new Problem(List.of(new Issue(kind, text, List.of(expressions))));
  }

  /**
   * The issues of several problems as one.
   *
   * @param problems one or more
   * @return the problem, to be thrown
   */
  public static Problem all(List<Problem> problems) {
    if (problems.isEmpty()) {
      throw new IllegalArgumentException("a problem needs an issue");
    }
    return new Problem(problems.stream().flatMap(problem -> problem.issues.stream()).toList());
  }

  /**
   * The same problem, seen from the Bundle that holds the resource.
   *
   * @param index the entry's place in the Bundle, from 0
   * @return a problem whose expressions begin with {@code Bundle.entry[index]}
   */
  public Problem inEntry(int index) {
    String entry = "Bundle.entry[" + index + "]";
    return new Problem(issues.stream().map(issue -> issue.inside(entry)).toList());
  }

  /** The issues, one or more. */
  public List<Issue> issues() {
    return issues;
  }

  /** The HTTP status: that of the first issue. */
  public int status() {
    return issues.get(0).kind().status();
  }
}
