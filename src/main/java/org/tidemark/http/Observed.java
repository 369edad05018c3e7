package org.tidemark.http;

import io.micrometer.core.instrument.MeterRegistry;
import io.micrometer.core.instrument.Timer;
import io.opentelemetry.api.trace.Span;
import io.opentelemetry.api.trace.StatusCode;
import io.opentelemetry.context.Scope;
import io.opentelemetry.context.propagation.TextMapGetter;
import jakarta.inject.Inject;
import jakarta.servlet.FilterChain;
import jakarta.servlet.ServletException;
import jakarta.servlet.http.HttpFilter;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.time.Duration;
import java.util.Collections;
import java.util.concurrent.TimeUnit;
import org.tidemark.application.Spans;

/**
 * Times each request and makes a span of it where traces are sent. Both go by {@link RequestPlace}:
 * no id, no name and no query is in either. It stands in {@code META-INF/web.xml}, which puts it
 * before the filters that are annotated. The probes and the figures do not come here.
 */
public class Observed extends HttpFilter {
  private static final long serialVersionUID = 1L;

  private static final Duration[] LIMITS = {
    Duration.ofMillis(5),
    Duration.ofMillis(10),
    Duration.ofMillis(25),
    Duration.ofMillis(50),
    Duration.ofMillis(100),
    Duration.ofMillis(250),
    Duration.ofMillis(500),
    Duration.ofSeconds(1),
    Duration.ofMillis(2500),
    Duration.ofSeconds(10)
  };

  private static final TextMapGetter<HttpServletRequest> HEADERS =
      new TextMapGetter<>() {
        @Override
        public Iterable<String> keys(HttpServletRequest request) {
          return Collections.list(request.getHeaderNames());
        }

        @Override
        public String get(HttpServletRequest request, String name) {
          return request == null ? null : request.getHeader(name);
        }
      };

  @Inject transient MeterRegistry meters;
  @Inject transient Spans spans;

  @Override
  protected void doFilter(
      HttpServletRequest request, HttpServletResponse response, FilterChain rest)
      throws IOException, ServletException {
    String method = RequestPlace.method(request.getMethod());
    String place = RequestPlace.of(request.getRequestURI());
    long begun = System.nanoTime();
    Span span =
        spans
            .request(method + " " + place, request, HEADERS)
            .setAttribute("http.request.method", method)
            .setAttribute("http.route", place)
            .startSpan();
    int status = HttpServletResponse.SC_INTERNAL_SERVER_ERROR;
    Scope bound = span.makeCurrent();
    try {
      rest.doFilter(request, response);
      status = response.getStatus();
    } finally {
      bound.close();
      end(span, status);
      count(method, place, status, System.nanoTime() - begun);
    }
  }

  private static void end(Span span, int status) {
    span.setAttribute("http.response.status_code", status);
    if (status >= HttpServletResponse.SC_INTERNAL_SERVER_ERROR) {
      span.setStatus(StatusCode.ERROR);
    }
    span.end();
  }

  private void count(String method, String place, int status, long tookNs) {
    Timer.builder("http.server.requests")
        .description("Requests that were answered")
        .tags("method", method, "uri", place)
        .tags("status", Integer.toString(status), "outcome", outcome(status))
        .serviceLevelObjectives(LIMITS)
        .register(meters)
        .record(tookNs, TimeUnit.NANOSECONDS);
  }

  private static String outcome(int status) {
    return switch (status / 100) {
      case 1 -> "INFORMATIONAL";
      case 2 -> "SUCCESS";
      case 3 -> "REDIRECTION";
      case 4 -> "CLIENT_ERROR";
      default -> "SERVER_ERROR";
    };
  }
}
