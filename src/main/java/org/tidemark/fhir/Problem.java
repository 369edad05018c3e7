package org.tidemark.fhir;

import java.util.List;
import java.util.OptionalInt;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.OperationOutcome.IssueType;

/**
 * A request that is refused, and why: one or more issues, each with a kind, a sentence and the
 * FHIRPath of the elements at fault.
 *
 * <p>It becomes a 4xx with an OperationOutcome, or a 503 or 429 where the same request will do
 * later; it is never a mistake of ours. Its text is shown to the client, so it carries no
 * internals.
 */
public final class Problem extends RuntimeException {
  private static final long serialVersionUID = 1L;

  /** The system of {@link Kind#code}. */
  public static final String CODE_SYSTEM = "https://tidemark.example/fhir/CodeSystem/problem";

  /** The code of a failure of the service itself, in {@link #CODE_SYSTEM}. */
  public static final String FAULT = "fault";

  /** Kinds of problem: HTTP status, FHIR's issue type, and our own stable code. */
  public enum Kind {
    /** Not JSON, not XML, or not a resource. */
    MALFORMED(
        400,
        IssueType.STRUCTURE,
        "malformed",
        "Not JSON, not XML, or not a resource.",
        "Send a whole FHIR R4 resource in UTF-8."),
    /** The body is of another type or id than the address says. */
    MISMATCH(
        400,
        IssueType.INVALID,
        "mismatch",
        "The body is of another type or id than the address says.",
        "Make the body and the address agree."),
    /** The address or a search parameter cannot be understood. */
    BAD_REQUEST(
        400,
        IssueType.INVALID,
        "bad-request",
        "The address or a search parameter cannot be understood.",
        "Correct the parameter that is named."),
    /** The search parameter is not declared for this type. */
    UNKNOWN_PARAMETER(
        400,
        IssueType.NOTSUPPORTED,
        "unknown-parameter",
        "The search parameter is not declared for this type.",
        "Use one that the CapabilityStatement declares."),
    /** The search would bring more than a stated number of records along. */
    TOO_COSTLY(
        400,
        IssueType.TOOCOSTLY,
        "too-costly",
        "The search would bring more than a stated number of records along.",
        "Ask for smaller pages, or search for the other records by themselves."),
    /** The element is not part of FHIR R4 at this place. */
    UNKNOWN_ELEMENT(
        422,
        IssueType.STRUCTURE,
        "unknown-element",
        "The element is not part of FHIR R4 at this place.",
        "Leave it out, or send it as an extension."),
    /** The element's shape is wrong: a list for a single value, a number for a text. */
    WRONG_SHAPE(
        422,
        IssueType.STRUCTURE,
        "wrong-shape",
        "The element's shape is wrong: a list for a single value, a number for a text.",
        "Send the element as R4 defines it."),
    /** The value is not one that its type allows. */
    INVALID_VALUE(
        422,
        IssueType.VALUE,
        "invalid-value",
        "The value is not one that its type allows.",
        "Send a value of the element's type."),
    /** The value is beyond a stated limit. */
    OUT_OF_RANGE(
        422,
        IssueType.VALUE,
        "out-of-range",
        "The value is beyond a stated limit.",
        "Check the number and its unit at the source; send it again only if it was mistyped."),
    /** The unit does not measure what the element measures. */
    WRONG_UNIT(
        422,
        IssueType.VALUE,
        "wrong-unit",
        "The unit does not measure what the element measures.",
        "Send a UCUM unit of the right kind in Quantity.code."),
    /** A text contains a character that FHIR does not allow. */
    BAD_CHARACTER(
        422,
        IssueType.VALUE,
        "bad-character",
        "A text contains a character that FHIR does not allow.",
        "Take control characters out of the text."),
    /** A required element is missing. */
    MISSING(
        422,
        IssueType.REQUIRED,
        "missing",
        "A required element is missing.",
        "Add the element that is named."),
    /** A reference to a record that does not exist here. */
    UNKNOWN_REFERENCE(
        422,
        IssueType.NOTFOUND,
        "unknown-reference",
        "A reference to a record that does not exist here.",
        "Send that record first, or in the same transaction."),
    /** A programme, or version of one, that is not known here. */
    UNKNOWN_PROGRAMME(
        422,
        IssueType.NOTFOUND,
        "unknown-programme",
        "A programme, or version of one, that is not known here.",
        "Read PlanDefinition for the programmes and versions that are."),
    /** A rule of the service forbids it. */
    BUSINESS_RULE(
        422,
        IssueType.BUSINESSRULE,
        "business-rule",
        "A rule of the service forbids it.",
        "Read the sentence; a person decides what to do."),
    /** The element cannot be changed once written. */
    IMMUTABLE(
        422,
        IssueType.BUSINESSRULE,
        "immutable",
        "The element cannot be changed once written.",
        "Create a new record instead."),
    /** It is dated in the future. */
    FUTURE_DATE(
        422,
        IssueType.VALUE,
        "future-date",
        "It is dated in the future.",
        "Check the clock and the time zone of the sender."),
    /** The sender is not trusted, or the content is not what the sender has signed. */
    NOT_TRUSTED(
        422,
        IssueType.SECURITY,
        "not-trusted",
        "The sender is not trusted, or the content is not what the sender has signed.",
        "Ask the clinic that receives to trust the sender; send the document as it was signed."),
    /** The content changes the meaning of the resource in a way that is not known here. */
    UNSUPPORTED(
        422,
        IssueType.NOTSUPPORTED,
        "unsupported",
        "The content changes the meaning of the resource in a way that is not known here.",
        "Send it without that content, if it is true without it."),
    /** It breaks a rule of FHIR R4, or of a profile that it claims. */
    NOT_VALID(
        422,
        IssueType.INVALID,
        "not-valid",
        "It breaks a rule of FHIR R4, or of a profile that it claims.",
        "Correct the element that is named; $validate says everything that is found."),
    /** An operation of a patch cannot be carried out, or its test fails. */
    PATCH_FAILED(
        422,
        IssueType.PROCESSING,
        "patch-failed",
        "An operation of a patch cannot be carried out, or its test fails.",
        "Read the record again and make the patch anew."),
    /** Nobody has proved to be allowed in. */
    UNAUTHORIZED(
        401,
        IssueType.LOGIN,
        "unauthorized",
        "The request has no access token, or one that is not valid or has expired.",
        "Get an access token as .well-known/smart-configuration says, and send it as Authorization:"
            + " Bearer."),
    /** The access token does not allow it. */
    FORBIDDEN(
        403,
        IssueType.FORBIDDEN,
        "forbidden",
        "The access token does not allow it.",
        "Get a token with the scope that the sentence names, or leave it to somebody who has one."),
    /** There is no such record, version or type. */
    NOT_FOUND(
        404,
        IssueType.NOTFOUND,
        "not-found",
        "There is no such record, version or type.",
        "Check the address."),
    /** The record was there and has been deleted. */
    DELETED(
        410,
        IssueType.DELETED,
        "deleted",
        "The record was there and has been deleted.",
        "Its versions can still be read by their numbers."),
    /** The method is not offered at this address. */
    NOT_ALLOWED(
        405,
        IssueType.NOTSUPPORTED,
        "not-allowed",
        "The method is not offered at this address.",
        "Use an interaction that the CapabilityStatement declares."),
    /** None of the formats that the client accepts is offered. */
    NOT_ACCEPTABLE(
        406,
        IssueType.NOTSUPPORTED,
        "not-acceptable",
        "None of the formats that the client accepts is offered.",
        "Accept application/fhir+json or application/fhir+xml."),
    /** Other records refer to it, or a plan rests on it. */
    IN_USE(
        409,
        IssueType.CONFLICT,
        "in-use",
        "Other records refer to it, or a plan rests on it.",
        "Set its status to entered-in-error, or change the records that refer to it."),
    /** The record has changed since the client read it. */
    VERSION_CONFLICT(
        412,
        IssueType.CONFLICT,
        "version-conflict",
        "The record has changed since the client read it.",
        "Read it again and repeat the change on the new version."),
    /** A change must say which version of the record was read. */
    VERSION_NEEDED(
        428,
        IssueType.REQUIRED,
        "version-needed",
        "A change must say which version of the record was read.",
        "Read the record and send its ETag as If-Match."),
    /** More than one record matches a condition that must match one. */
    MULTIPLE_MATCHES(
        412,
        IssueType.MULTIPLEMATCHES,
        "multiple-matches",
        "More than one record matches a condition that must match one.",
        "Make the condition narrower."),
    /** A condition that must match a record matches none. */
    NO_MATCH(
        412,
        IssueType.NOTFOUND,
        "no-match",
        "A condition that must match a record matches none.",
        "Send that record first."),
    /** The same thing is given twice. */
    DUPLICATE(
        422, IssueType.DUPLICATE, "duplicate", "The same thing is given twice.", "Send it once."),
    /** The body is larger than the stated limit. */
    TOO_LARGE(
        413,
        IssueType.TOOLONG,
        "too-large",
        "The body, or the number of its entries, is larger than the stated limit.",
        "Send it in parts."),
    /** The body is in a format that is not offered. */
    UNSUPPORTED_FORMAT(
        415,
        IssueType.NOTSUPPORTED,
        "unsupported-format",
        "The body is in a format that is not offered.",
        "Send application/fhir+json or application/fhir+xml."),
    /** Too many writers at once; the request may be sent again as it is. */
    BUSY(
        503,
        IssueType.LOCKERROR,
        "busy",
        "Too many writers at once; the request may be sent again as it is.",
        "Wait a moment and send the same request again."),
    /** More requests are in work and waiting than the service takes. */
    THROTTLED(
        429,
        IssueType.THROTTLED,
        "throttled",
        "More requests are in work and waiting than the service takes.",
        "Wait as Retry-After says and send the same request again, fewer at once."),
    /**
     * The database, or the issuer by whom somebody has signed in, does not serve at the moment, or
     * the service is stopping.
     */
    UNAVAILABLE(
        503,
        IssueType.NOSTORE,
        "unavailable",
        "The database, or the issuer by whom somebody has signed in, does not serve at the moment, or the service is stopping.",
        "Wait as Retry-After says and send it again; a create that must not happen twice with"
            + " If-None-Exist.");

    private final int status;
    private final IssueType issueType;
    private final String code;
    private final String meaning;
    private final String next;

    Kind(int status, IssueType issueType, String code, String meaning, String next) {
      this.status = status;
      this.issueType = issueType;
      this.code = code;
      this.meaning = meaning;
      this.next = next;
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

    /** After how many seconds it is worth sending again; empty when it is not. */
    public OptionalInt retryAfterSeconds() {
      return switch (this) {
        case BUSY, THROTTLED -> OptionalInt.of(1);
        case UNAVAILABLE -> OptionalInt.of(10);
        default -> OptionalInt.empty();
      };
    }

    /** What it means, as a sentence. */
    public String meaning() {
      return meaning;
    }

    /** What whoever gets it does next, as a sentence. */
    public String next() {
      return next;
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

    private Issue instead(String one, String other) {
      return new Issue(
          kind,
          text,
          expressions.stream()
              .map(
                  expression ->
                      expression.startsWith(one)
                          ? other + expression.substring(one.length())
                          : expression)
              .toList());
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
    return new Problem(issues.stream().map(issue -> issue.inside(entry(index))).toList());
  }

  /** The same problem of another entry of a Bundle, which was looked at as its first. */
  Problem ofEntry(int index) {
    return ofEntry(0, index);
  }

  /**
   * The same problem of the entry of one Bundle that was looked at as an entry of another.
   *
   * @param lookedAt the place where it was looked at, from 0
   * @param index its own place, from 0
   */
  public Problem ofEntry(int lookedAt, int index) {
    return new Problem(
        issues.stream().map(issue -> issue.instead(entry(lookedAt), entry(index))).toList());
  }

  private static String entry(int index) {
    return "Bundle.entry[" + index + "]";
  }

  /** The issues, one or more. */
  public List<Issue> issues() {
    return issues;
  }

  /** After how many seconds it is worth sending again, by the first issue. */
  public OptionalInt retryAfterSeconds() {
    return issues.get(0).kind().retryAfterSeconds();
  }

  /** The HTTP status: that of the first issue. */
  public int status() {
    return issues.get(0).kind().status();
  }
}
