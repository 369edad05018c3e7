package org.tidemark.http;

import ca.uhn.fhir.rest.api.server.RequestDetails;
import ca.uhn.fhir.rest.server.RestfulServerUtils;
import java.io.IOException;
import java.io.OutputStreamWriter;
import java.io.Writer;
import java.nio.charset.StandardCharsets;

/** Where the text of an answer goes that is not encoded by HAPI. */
final class AnswerText {
  private AnswerText() {}

  /**
   * Begins an answer with status 200 in the format that was asked for. The servlet's own writer
   * puts one character after the other into its buffer; this one whole pieces.
   */
  static Writer of(RequestDetails request) throws IOException {
    String type =
        RestfulServerUtils.determineResponseEncodingWithDefault(request).getResourceContentType();
    return request.isRespondGzip()
        ? request.getResponse().getResponseWriter(200, type, StandardCharsets.UTF_8.name(), true)
        : new OutputStreamWriter(
            request.getResponse().getResponseOutputStream(200, type + ";charset=UTF-8", null),
            StandardCharsets.UTF_8);
  }
}
