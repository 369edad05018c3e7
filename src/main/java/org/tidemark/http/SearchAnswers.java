package org.tidemark.http;

import ca.uhn.fhir.interceptor.api.Hook;
import ca.uhn.fhir.interceptor.api.Interceptor;
import ca.uhn.fhir.interceptor.api.Pointcut;
import ca.uhn.fhir.rest.api.EncodingEnum;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import ca.uhn.fhir.rest.server.RestfulServerUtils;
import java.io.IOException;
import java.io.Writer;
import org.hl7.fhir.instance.model.api.IBaseResource;
import org.hl7.fhir.r4.model.Bundle;
import org.tidemark.application.Page;
import org.tidemark.application.Types;
import org.tidemark.fhir.References;

/**
 * Sends the answers to searches, and sees to it that a history and the audit trail claim no total.
 *
 * <p>A page in plain JSON is written around the text of its records as it is stored; parsing and
 * encoding it again would be most of the work of a search. Any other form is made by HAPI, except
 * that {@code Bundle.total} is kept honest: where nobody counted, HAPI puts the number of Bundles.
 */
@Interceptor
public final class SearchAnswers {
  private static final String PAGE = SearchAnswers.class.getName() + ".page";

  private final References references;

  SearchAnswers(References references) {
    this.references = references;
  }

  /** Notes which page a Bundle is to hold. */
  static void remember(RequestDetails request, Page page) {
    request.getUserData().put(PAGE, page);
  }

  /**
   * Whether the answer is to be the records as they are stored.
   *
   * @param request the search
   * @return false when another format, indented text, or a part of the records is asked for
   */
  static boolean isPlain(RequestDetails request) {
    return RestfulServerUtils.determineResponseEncodingWithDefault(request).getEncoding()
            == EncodingEnum.JSON
        && !RestfulServerUtils.prettyPrintResponse(request.getServer(), request)
        && !SearchBundles.isShortened(request);
  }

  /** Sends a page, or leaves it to HAPI by returning true. */
  @Hook(Pointcut.SERVER_OUTGOING_RESPONSE)
  public boolean answer(RequestDetails request, IBaseResource resource) throws IOException {
    if (!(resource instanceof Bundle bundle)) {
      return true;
    }
    if (bundle.getType() == Bundle.BundleType.HISTORY
        || Types.AUDIT.equals(request.getResourceName())) {
      bundle.setTotalElement(null);
    }
    if (!(request.getUserData().get(PAGE) instanceof Page page)) {
      return true;
    }
    if (page.total().isEmpty()) {
      bundle.setTotalElement(null);
    }
    if (!isPlain(request)) {
      return true;
    }
    Writer writer = AnswerText.of(request);
    new PageWriter(request.getFhirContext(), references).write(bundle, page, writer);
    request.getResponse().commitResponse(writer);
    return false;
  }
}
