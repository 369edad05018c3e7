package org.tidemark.http;

import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.util.Optional;
import org.tidemark.fhir.Problem;

/** How a browser gets in, which sends no token of its own: somebody signs in on the pages. */
public interface PageDoor {
  /** Where the addresses of signing in and out begin; they tell of nobody and need no token. */
  String PATH = "/signin";

  /** Reads the settings, which end the start where they are at fault. */
  void check();

  /**
   * The access token that was given to who has signed in with the browser that sends a request;
   * empty where nobody has, or where a page that is not ours has made the browser send it.
   */
  Optional<String> token(HttpServletRequest request);

  /**
   * Answers the request for a page that is refused: leads to the sign-in, or says in a page what is
   * missing.
   *
   * @return whether it did; otherwise the request is none for a page, or nobody signs in here
   */
  boolean answer(HttpServletRequest request, HttpServletResponse response, Problem refused)
      throws IOException;
}
