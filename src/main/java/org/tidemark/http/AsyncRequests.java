package org.tidemark.http;

import ca.uhn.fhir.rest.api.server.RequestDetails;
import java.util.regex.Pattern;
import org.tidemark.fhir.Problem;

/** What requests have in common that begin something long (R4, "Asynchronous Request Pattern"). */
public final class AsyncRequests {
  private static final Pattern ASYNC =
      Pattern.compile("(?:.*[,;\\s])?respond-async(?:[,;\\s].*)?", Pattern.CASE_INSENSITIVE);

  private AsyncRequests() {}

  /**
   * Requires that whoever asks will come back for the answer.
   *
   * @param what what is begun, as the beginning of a sentence
   */
  public static void require(RequestDetails request, String what) {
    if (request.getHeaders("Prefer").stream().noneMatch(line -> ASYNC.matcher(line).matches())) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          what + " takes its time and is asked for with the header Prefer: respond-async.");
    }
  }
}
