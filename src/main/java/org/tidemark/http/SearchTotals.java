package org.tidemark.http;

import ca.uhn.fhir.interceptor.api.Hook;
import ca.uhn.fhir.interceptor.api.Interceptor;
import ca.uhn.fhir.interceptor.api.Pointcut;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import org.hl7.fhir.instance.model.api.IBaseResource;
import org.hl7.fhir.r4.model.Bundle;
import org.tidemark.application.Page;

/**
 * Keeps {@code Bundle.total} honest: where the number of matches was not counted, HAPI puts the
 * number of Bundles, which is 1; it is taken away again.
 */
@Interceptor
public final class SearchTotals {
  private static final String UNKNOWN = SearchTotals.class.getName() + ".unknown";

  /** Notes whether the total of a search is known. */
  static void remember(RequestDetails request, Page page) {
    if (page.total().isEmpty()) {
      request.getUserData().put(UNKNOWN, true);
    }
  }

  /** Takes away a total that nobody counted. */
  @Hook(Pointcut.SERVER_OUTGOING_RESPONSE)
  public void answer(RequestDetails request, IBaseResource resource) {
    if (resource instanceof Bundle bundle && request.getUserData().containsKey(UNKNOWN)) {
      bundle.setTotalElement(null);
    }
  }
}
