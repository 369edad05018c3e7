package org.tidemark.http;

import ca.uhn.fhir.interceptor.api.Hook;
import ca.uhn.fhir.interceptor.api.Interceptor;
import ca.uhn.fhir.interceptor.api.Pointcut;
import ca.uhn.fhir.rest.api.RequestTypeEnum;
import ca.uhn.fhir.rest.server.servlet.ServletRequestDetails;
import jakarta.servlet.http.HttpServletRequest;
import java.util.Arrays;
import java.util.EnumSet;
import java.util.Locale;
import java.util.Objects;
import java.util.Set;
import java.util.function.ToLongFunction;
import org.tidemark.application.Types;
import org.tidemark.fhir.BodyCheck;
import org.tidemark.fhir.Patches;
import org.tidemark.fhir.Problem;

/**
 * Refuses what cannot be read before HAPI reads it: bodies that are too long, in another format, or
 * not what R4 defines; and formats of the answer that are not offered.
 */
@Interceptor
public final class RequestCheck {
  private static final Set<String> JSON =
      Set.of("application/fhir+json", "application/json", "text/json", "application/json+fhir");
  private static final Set<String> XML =
      Set.of("application/fhir+xml", "application/xml", "text/xml", "application/xml+fhir");
  private static final Set<RequestTypeEnum> NOWHERE =
      EnumSet.of(RequestTypeEnum.TRACE, RequestTypeEnum.CONNECT);
  private static final Set<RequestTypeEnum> WRITES =
      EnumSet.of(
          RequestTypeEnum.POST, RequestTypeEnum.PUT, RequestTypeEnum.PATCH, RequestTypeEnum.DELETE);
  private static final Set<String> PAPERS = Set.of("$handout", "$progress-report");

  /** Takes a document as it is, without Parameters around it. */
  private static final String DOCUMENTS = "$receive-handover";

  /** What is wrong is the answer of the one; the other takes its body apart. */
  private static final Set<String> CHECKED_LATER = Set.of(Validations.OPERATION, DOCUMENTS);

  private static final Set<String> ANY = Set.of("*/*", "application/*", "text/*");

  private final BodyCheck bodyCheck;
  private final ToLongFunction<HttpServletRequest> bodyLimit;

  RequestCheck(BodyCheck bodyCheck, ToLongFunction<HttpServletRequest> bodyLimit) {
    this.bodyCheck = bodyCheck;
    this.bodyLimit = bodyLimit;
  }

  /** Refuses an address that is still encoded when it has been decoded. */
  @Hook(Pointcut.SERVER_INCOMING_REQUEST_PRE_PROCESSED)
  public void checkAddress(HttpServletRequest request) {
    if (Objects.toString(request.getPathInfo(), "").indexOf('%') >= 0) {
      throw Problem.of(Problem.Kind.BAD_REQUEST, "No type, id or operation has the character %.");
    }
  }

  /** Refuses methods that are offered nowhere, and patches in a format that is not offered. */
  @Hook(Pointcut.SERVER_INCOMING_REQUEST_PRE_HANDLER_SELECTED)
  public void checkMethod(ServletRequestDetails details) {
    if (NOWHERE.contains(details.getRequestType())) {
      throw Problem.of(
          Problem.Kind.NOT_ALLOWED, "The method " + details.getRequestType() + " is not offered.");
    }
    if (WRITES.contains(details.getRequestType())
        && details.getOperation() == null
        && details.getResourceName() != null
        && (Types.isOnlyRead(details.getResourceName())
            || Types.AUDIT.equals(details.getResourceName()))) {
      throw Problem.of(
          Problem.Kind.NOT_ALLOWED,
          "The type " + details.getResourceName() + " can only be read here.");
    }
    if (Types.AUDIT.equals(details.getResourceName())
        && details.getRequestPath().contains("/_history")) {
      throw Problem.of(Problem.Kind.NOT_ALLOWED, "An AuditEvent never changes and has no history.");
    }
    if (details.getRequestType() == RequestTypeEnum.PATCH) {
      String format = mediaType(details.getHeader("Content-Type"));
      if (!format.equals(Patches.JSON_PATCH) && !JSON.contains(format) && !XML.contains(format)) {
        throw Problem.of(
            Problem.Kind.UNSUPPORTED_FORMAT,
            "A patch is sent as application/json-patch+json, or as a Parameters resource in"
                + " application/fhir+json or application/fhir+xml.");
      }
    }
  }

  /** Checks a request whose method is known, before its body is parsed. */
  @Hook(Pointcut.SERVER_INCOMING_REQUEST_POST_PROCESSED)
  public void check(ServletRequestDetails details, HttpServletRequest request) {
    requireAcceptable(request, givesPapers(details));
    boolean sends =
        details.getRequestType() == RequestTypeEnum.POST
            || details.getRequestType() == RequestTypeEnum.PUT
            || details.getRequestType() == RequestTypeEnum.PATCH;
    if (!sends) {
      return;
    }
    if (request.getContentLengthLong() > bodyLimit.applyAsLong(request)) {
      throw LimitedRequest.tooLarge(bodyLimit.applyAsLong(request));
    }
    if (LimitedRequest.isPackedOtherwise(request)) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED_FORMAT, "A body may be packed by gzip, once, or not at all.");
    }
    String format = mediaType(request.getContentType());
    if ("_search".equals(details.getOperation())) {
      return;
    }
    byte[] body = details.loadRequestContents();
    requireUtf8(request.getContentType(), body);
    if (body.length == 0
        && details.getOperation() != null
        && !DOCUMENTS.equals(details.getOperation())) {
      return;
    }
    boolean patches = details.getRequestType() == RequestTypeEnum.PATCH;
    if (patches && format.equals(Patches.JSON_PATCH)) {
      return;
    }
    if (!JSON.contains(format) && !XML.contains(format)) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED_FORMAT,
          "A body is sent as application/fhir+json or application/fhir+xml.");
    }
    if (body.length == 0) {
      throw Problem.of(Problem.Kind.MALFORMED, "The body is empty.");
    }
    if (!CHECKED_LATER.contains(String.valueOf(details.getOperation()))) {
      requireType(details, bodyCheck.check(body, XML.contains(format)));
    }
  }

  private static void requireType(ServletRequestDetails details, String type) {
    if (details.getOperation() != null) {
      return;
    }
    String expected =
        details.getRequestType() == RequestTypeEnum.PATCH
            ? "Parameters"
            : details.getResourceName() == null ? "Bundle" : details.getResourceName();
    if (!expected.equals(type)) {
      throw Problem.of(
          Problem.Kind.MISMATCH,
          "The body is a resource of the type %s; a %s is expected here.".formatted(type, expected),
          type);
    }
  }

  /** Whether what is asked for can be a PDF or a page. */
  private static boolean givesPapers(ServletRequestDetails details) {
    return "Binary".equals(details.getResourceName())
        || PAPERS.contains(String.valueOf(details.getOperation()));
  }

  private static void requireAcceptable(HttpServletRequest request, boolean papers) {
    String format = request.getParameter("_format");
    boolean offered;
    if (format != null) {
      String plain = mediaType(format.replace(' ', '+'));
      offered = Set.of("json", "xml").contains(plain) || isOffered(plain, papers);
    } else {
      String accept = request.getHeader("Accept");
      offered =
          accept == null
              || accept.isBlank()
              || Arrays.stream(accept.split(","))
                  .filter(range -> !range.replace(" ", "").matches(".*;q=0(\\.0*)?"))
                  .map(RequestCheck::mediaType)
                  .anyMatch(range -> isOffered(range, papers));
    }
    if (!offered) {
      throw Problem.of(
          Problem.Kind.NOT_ACCEPTABLE,
          "Answers are given as application/fhir+json or application/fhir+xml.");
    }
  }

  private static boolean isOffered(String mediaType, boolean papers) {
    return JSON.contains(mediaType)
        || XML.contains(mediaType)
        || ANY.contains(mediaType)
        || (papers && Wanted.isOfPapers(mediaType));
  }

  /** Another character set would be stored wrongly, unless the body is plain ASCII. */
  private static void requireUtf8(String contentType, byte[] body) {
    String given = contentType == null ? "" : contentType.toLowerCase(Locale.ROOT);
    int charset = given.indexOf("charset=");
    boolean utf8 =
        charset < 0
            || given.substring(charset + 8).split(";")[0].replace("\"", "").trim().equals("utf-8");
    if (!utf8 && !isAscii(body)) {
      throw Problem.of(Problem.Kind.UNSUPPORTED_FORMAT, "A body is sent in UTF-8.");
    }
  }

  private static boolean isAscii(byte[] body) {
    for (byte b : body) {
      if (b < 0) {
        return false;
      }
    }
    return true;
  }

  private static String mediaType(String header) {
    return header == null ? "" : header.split(";")[0].trim().toLowerCase(Locale.ROOT);
  }
}
