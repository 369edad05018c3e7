package org.tidemark.http;

import io.quarkus.vertx.http.runtime.filters.Filters;
import io.vertx.core.http.HttpHeaders;
import io.vertx.core.http.HttpServerRequest;
import io.vertx.ext.web.RoutingContext;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;

/**
 * Gives a request of HTTP/2 the header {@code Host} that servlets look for, as RFC 9113, 8.3.1 has
 * it: it is the request's authority.
 */
@ApplicationScoped
class Authority {
  private static final int BEFORE_OTHERS = 1_001;

  void install(@Observes Filters filters) {
    filters.register(Authority::name, BEFORE_OTHERS);
  }

  private static void name(RoutingContext call) {
    HttpServerRequest request = call.request();
    if (!request.headers().contains(HttpHeaders.HOST) && request.authority() != null) {
      request.headers().set(HttpHeaders.HOST, request.authority().toString());
    }
    call.next();
  }
}
