package org.tidemark.http;

import ca.uhn.fhir.interceptor.api.Hook;
import ca.uhn.fhir.interceptor.api.Interceptor;
import ca.uhn.fhir.interceptor.api.Pointcut;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import java.io.IOException;
import java.io.Writer;
import org.tidemark.fhir.DocumentText;

/** Sends the texts of a document as they are, without making elements of them again. */
@Interceptor
public final class DocumentAnswers {
  private static final String TEXT = DocumentAnswers.class.getName();

  /** Whether a document is asked for in JSON, whole and without indentation. */
  public static boolean isPlain(RequestDetails request) {
    return SearchAnswers.isPlain(request);
  }

  /** Notes which document is to be sent. */
  public static void remember(RequestDetails request, DocumentText text) {
    request.getUserData().put(TEXT, text);
  }

  /** Sends the document, or leaves it to HAPI by returning true. */
  @Hook(Pointcut.SERVER_OUTGOING_RESPONSE)
  public boolean answer(RequestDetails request) throws IOException {
    if (!(request.getUserData().get(TEXT) instanceof DocumentText text)) {
      return true;
    }
    Writer writer = AnswerText.of(request);
    text.write(writer);
    request.getResponse().commitResponse(writer);
    return false;
  }
}
