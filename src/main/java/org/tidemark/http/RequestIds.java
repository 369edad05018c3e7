package org.tidemark.http;

import jakarta.servlet.http.HttpServletRequest;
import java.util.UUID;
import java.util.regex.Pattern;

/** The id under which a request is answered and logged: the client's own, or a new one. */
public final class RequestIds {
  /** The header that carries it. */
  public static final String HEADER = "X-Request-ID";

  private static final Pattern FORM = Pattern.compile("[A-Za-z0-9._\\-]{1,64}");

  private RequestIds() {}

  /**
   * The id of a request, always the same. An id of the client that is no plain word is not taken.
   */
  public static String of(HttpServletRequest request) {
    Object known = request.getAttribute(HEADER);
    if (known instanceof String id) {
      return id;
    }
    String given = request.getHeader(HEADER);
    String id =
        given != null && FORM.matcher(given).matches() ? given : UUID.randomUUID().toString();
    request.setAttribute(HEADER, id);
    return id;
  }
}
