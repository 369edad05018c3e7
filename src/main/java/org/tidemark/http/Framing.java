package org.tidemark.http;

import io.netty.handler.codec.http.HttpHeaderNames;
import io.quarkus.vertx.http.runtime.filters.Filters;
import io.vertx.core.MultiMap;
import io.vertx.core.http.HttpServerResponse;
import io.vertx.ext.web.RoutingContext;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.util.List;
import org.tidemark.fhir.Problem;

/**
 * Refuses requests of which a server in front could hold another opinion where they end (RFC 9112,
 * section 6.3), and closes their connection: what follows on it may be part of the body.
 */
@ApplicationScoped
class Framing {
  /** Before a body is read, and after the headers of answers are seen to. */
  private static final int BEFORE_BODIES = 1_900;

  private static final int BAD_REQUEST = Problem.Kind.MALFORMED.status();

  void install(@Observes Filters filters) {
    filters.register(Framing::check, BEFORE_BODIES);
  }

  private static void check(RoutingContext call) {
    if (isClear(call.request().headers())) {
      call.next();
      return;
    }
    HttpServerResponse answer = call.response();
    answer.setStatusCode(BAD_REQUEST);
    answer.putHeader(HttpHeaderNames.CONNECTION, "close");
    answer.putHeader(HttpHeaderNames.CONTENT_TYPE, "text/plain;charset=UTF-8");
    answer.end("Transfer-Encoding is chunked, alone and without Content-Length.");
    call.request().connection().close();
  }

  private static boolean isClear(MultiMap headers) {
    List<String> codings = headers.getAll(HttpHeaderNames.TRANSFER_ENCODING);
    boolean told = headers.contains(HttpHeaderNames.CONTENT_LENGTH);
    return codings.isEmpty()
        ? headers.getAll(HttpHeaderNames.CONTENT_LENGTH).size() <= 1
        : codings.size() == 1 && codings.get(0).equalsIgnoreCase("chunked") && !told;
  }
}
