package org.tidemark.http;

import io.quarkus.vertx.http.runtime.filters.Filters;
import io.vertx.core.MultiMap;
import io.vertx.ext.web.RoutingContext;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.util.LinkedHashMap;
import java.util.Map;
import org.eclipse.microprofile.config.inject.ConfigProperty;

/**
 * What every answer tells a browser, whoever makes it: that it is what it says and no page to load
 * things from, to be framed or to be kept. An answer that has said something itself, such as a page
 * its own policy, is left with that.
 */
@ApplicationScoped
class AnswerHeaders {
  /** Before whatever may answer. */
  private static final int FIRST = 2_000;

  private static final String YEAR = "max-age=31536000";

  private final Map<String, String> headers = new LinkedHashMap<>();

  AnswerHeaders(@ConfigProperty(name = "tidemark.base-url") String base) {
    headers.put("X-Content-Type-Options", "nosniff");
    headers.put("X-Frame-Options", "DENY");
    headers.put(
        "Content-Security-Policy",
        "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'");
    headers.put("Referrer-Policy", "no-referrer");
    headers.put("Cross-Origin-Resource-Policy", "same-origin");
    headers.put("Cross-Origin-Opener-Policy", "same-origin");
    headers.put("Permissions-Policy", "camera=(), geolocation=(), microphone=()");
    headers.put("Cache-Control", "no-store");
    if (base.startsWith("https:")) {
      headers.put("Strict-Transport-Security", YEAR);
    }
  }

  void install(@Observes Filters filters) {
    filters.register(this::add, FIRST);
  }

  private void add(RoutingContext call) {
    call.addHeadersEndHandler(
        ready -> {
          MultiMap said = call.response().headers();
          headers.forEach(
              (name, value) -> {
                if (!said.contains(name)) {
                  said.set(name, value);
                }
              });
        });
    call.next();
  }
}
