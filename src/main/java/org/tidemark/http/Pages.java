package org.tidemark.http;

import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;

/** What the answers of the clinician's pages have in common. */
public final class Pages {
  /** Styles and scripts are files of ours; nothing else is loaded and nobody frames a page. */
  private static final String POLICY =
      "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self';"
          + " form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

  /** A page that has its style in itself and nothing else. */
  static final String OF_A_PAPER =
      "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none';"
          + " frame-ancestors 'none'";

  private static final String USER = Pages.class.getName() + ".user";

  private Pages() {}

  /** Says who has signed in on the pages to send a request, as they are shown their name. */
  public static void sentBy(HttpServletRequest request, String name) {
    request.setAttribute(USER, name);
  }

  /** The name of who has signed in; empty where nobody has, or needs to. */
  public static String user(HttpServletRequest request) {
    return request.getAttribute(USER) instanceof String name ? name : "";
  }

  /** Prepares an answer that shows what is so at this moment to whoever asked. */
  public static void prepare(HttpServletResponse response) {
    response.setContentType("text/html;charset=UTF-8");
    response.setHeader("Content-Security-Policy", POLICY);
    response.setHeader("X-Content-Type-Options", "nosniff");
    response.setHeader("Referrer-Policy", "same-origin");
    response.setHeader("Cache-Control", "no-store");
    response.setHeader("Vary", "Accept-Language");
  }
}
