package org.tidemark.application;

import io.opentelemetry.api.OpenTelemetry;
import io.opentelemetry.api.trace.Span;
import io.opentelemetry.api.trace.SpanBuilder;
import io.opentelemetry.api.trace.SpanKind;
import io.opentelemetry.api.trace.StatusCode;
import io.opentelemetry.api.trace.Tracer;
import io.opentelemetry.context.Context;
import io.opentelemetry.context.propagation.TextMapGetter;
import io.opentelemetry.context.propagation.TextMapPropagator;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.function.Supplier;
import org.eclipse.microprofile.config.inject.ConfigProperty;

/**
 * Makes requests and their parts seen in traces. What fails is marked and not described: a problem
 * may say what a record says. Where no traces are sent, nothing is made.
 */
@ApplicationScoped
public class Spans {
  private final Tracer tracer;
  private final TextMapPropagator callers;

  Spans(OpenTelemetry telemetry, @ConfigProperty(name = "quarkus.otel.sdk.disabled") boolean off) {
    OpenTelemetry used = off ? OpenTelemetry.noop() : telemetry;
    this.tracer = used.getTracer("tidemark");
    this.callers = used.getPropagators().getTextMapPropagator();
  }

  /**
   * Begins what is done for a request, as a part of what its caller does.
   *
   * @param <C> what carries the request's headers
   * @param name what it is, in words of ours
   */
  public <C> SpanBuilder request(String name, C carrier, TextMapGetter<C> headers) {
    return tracer
        .spanBuilder(name)
        .setParent(callers.extract(Context.root(), carrier, headers))
        .setSpanKind(SpanKind.SERVER);
  }

  /** Does a piece of work as a part of what the thread does. */
  <T> T within(String name, Supplier<T> work) {
    Span span = tracer.spanBuilder(name).startSpan();
    try {
      return Context.current().with(span).wrapSupplier(work).get();
    } catch (RuntimeException e) {
      span.setStatus(StatusCode.ERROR);
      throw e;
    } finally {
      span.end();
    }
  }
}
