package org.tidemark.http;

import io.quarkus.vertx.http.runtime.filters.Filters;
import io.vertx.core.Vertx;
import io.vertx.core.http.HttpServerRequest;
import io.vertx.ext.web.RoutingContext;
import io.vertx.ext.web.handler.BodyHandler;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.time.Duration;
import org.eclipse.microprofile.config.inject.ConfigProperty;

/**
 * Reads the body of a request before a thread works for it, so that who sends slowly holds back
 * nobody; who takes too long is cut off.
 */
@ApplicationScoped
class BodyIntake {
  /** Filters run from the highest priority down. */
  private static final int BEFORE_OTHERS = 1_000;

  private static final String LATE = "tidemark.late";

  private final Vertx vertx;
  private final Duration patience;
  private final BodyHandler bodies;

  BodyIntake(
      Vertx vertx,
      @ConfigProperty(name = "tidemark.body-patience") Duration patience,
      @ConfigProperty(name = "tidemark.body-limit") long bodyLimit,
      @ConfigProperty(name = "tidemark.handover.body-limit") long documentLimit) {
    this.vertx = vertx;
    this.patience = patience;
    // Somewhat longer ones are refused in FHIR's words; what goes far beyond is not kept at all.
    this.bodies = BodyHandler.create(false).setBodyLimit(Math.max(2 * bodyLimit, documentLimit));
  }

  void install(@Observes Filters filters) {
    filters.register(this::read, BEFORE_OTHERS);
    filters.register(this::hasCome, BEFORE_OTHERS - 1);
  }

  private void read(RoutingContext call) {
    HttpServerRequest request = call.request();
    call.put(LATE, vertx.setTimer(patience.toMillis(), late -> request.connection().close()));
    bodies.handle(call);
  }

  private void hasCome(RoutingContext call) {
    vertx.cancelTimer(call.<Long>get(LATE));
    call.next();
  }
}
