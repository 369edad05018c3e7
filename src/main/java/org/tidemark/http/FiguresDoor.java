package org.tidemark.http;

import io.quarkus.vertx.http.runtime.filters.Filters;
import io.vertx.core.http.HttpServerRequest;
import io.vertx.ext.web.RoutingContext;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.nio.charset.StandardCharsets;
import java.security.MessageDigest;
import java.util.List;
import java.util.Optional;
import org.eclipse.microprofile.config.inject.ConfigProperty;

/**
 * Keeps the figures of the service, {@code /q/metrics}, for its operator: with a token in the
 * settings they are given to who shows it, without one to the machine itself. They tell of nobody,
 * but of how much a clinic does. What a proxy has passed on comes from elsewhere.
 */
@ApplicationScoped
class FiguresDoor {
  static final String PATH = "/q/metrics";

  private static final int BEFORE_OTHERS = 1_500;
  private static final int UNAUTHORIZED = 401;
  private static final int FORBIDDEN = 403;
  private static final List<String> PASSED_ON =
      List.of("Forwarded", "X-Forwarded-For", "X-Real-IP", "Via");

  private final Optional<byte[]> expected;

  FiguresDoor(@ConfigProperty(name = "tidemark.metrics.token") Optional<String> token) {
    this.expected =
        token
            .map(String::strip)
            .filter(text -> !text.isEmpty())
            .map(text -> ("Bearer " + text).getBytes(StandardCharsets.UTF_8));
  }

  void install(@Observes Filters filters) {
    filters.register(this::guard, BEFORE_OTHERS);
  }

  private void guard(RoutingContext call) {
    if (!call.normalizedPath().startsWith(PATH) || isLetIn(call.request())) {
      call.next();
    } else if (expected.isPresent()) {
      call.response()
          .setStatusCode(UNAUTHORIZED)
          .putHeader(AccessFilter.CHALLENGE, "Bearer realm=\"tidemark metrics\"")
          .end("The figures need the token of tidemark.metrics.token: Authorization: Bearer.");
    } else {
      call.response()
          .setStatusCode(FORBIDDEN)
          .end("The figures are given to the machine itself, or by tidemark.metrics.token.");
    }
  }

  private boolean isLetIn(HttpServerRequest request) {
    if (expected.isPresent()) {
      String shown = Optional.ofNullable(request.getHeader("Authorization")).orElse("");
      return MessageDigest.isEqual(expected.get(), shown.getBytes(StandardCharsets.UTF_8));
    }
    return AccessSettings.isLoopback(request.remoteAddress().hostAddress())
        && PASSED_ON.stream().noneMatch(request.headers()::contains);
  }
}
