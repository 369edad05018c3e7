package org.tidemark.http;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.runtime.ShutdownDelayInitiatedEvent;
import jakarta.enterprise.event.Observes;
import jakarta.inject.Singleton;
import jakarta.servlet.FilterChain;
import jakarta.servlet.ServletException;
import jakarta.servlet.annotation.WebFilter;
import jakarta.servlet.http.HttpFilter;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.time.Duration;
import java.util.concurrent.Semaphore;
import java.util.concurrent.TimeUnit;
import java.util.concurrent.atomic.AtomicInteger;
import java.util.regex.Pattern;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.Problem;

/**
 * Lets so many requests in at once, in work or waiting for the database; others are told to come
 * again, and so is everyone once the service is about to stop. There are more threads than that, so
 * that a refusal never waits. The probes do not come here: they are answered under any load.
 *
 * <p>A plan's document may take most of the memory that the service has, so that few are written or
 * received at once; others wait a while for their turn.
 */
@WebFilter(urlPatterns = "/*")
@Singleton
public class Admission extends HttpFilter {
  private static final long serialVersionUID = 1L;

  private static final Pattern DOCUMENT = Pattern.compile(".*/(\\$|%24)(receive-)?handover");

  private final transient FhirContext context;
  private final transient Semaphore documents;
  private final Duration patience;
  private final int most;
  private final Duration delay;
  private final AtomicInteger present = new AtomicInteger();

  /** When refusing begins, by the process's own clock; as long as it is to serve, never. */
  private volatile long refusesFrom = Long.MAX_VALUE;

  Admission(
      FhirContext context,
      @ConfigProperty(name = "tidemark.request-limit") int most,
      @ConfigProperty(name = "tidemark.handover.at-once") int documentsAtOnce,
      @ConfigProperty(name = "tidemark.handover.wait") Duration patience,
      @ConfigProperty(name = "quarkus.shutdown.delay") Duration delay) {
    this.context = context;
    this.most = most;
    this.delay = delay;
    this.documents = new Semaphore(documentsAtOnce, true);
    this.patience = patience;
  }

  /** Readiness has just gone down; who has not noticed yet is served for a while. */
  void drain(@Observes ShutdownDelayInitiatedEvent stopping) {
    refusesFrom = now() + delay.toMillis() / 2;
  }

  private static long now() {
    return System.nanoTime() / 1_000_000;
  }

  @Override
  protected void doFilter(
      HttpServletRequest request, HttpServletResponse response, FilterChain rest)
      throws IOException, ServletException {
    int there = present.incrementAndGet();
    try {
      if (now() >= refusesFrom) {
        refuse(request, response, Problem.Kind.UNAVAILABLE, "The service is stopping.");
      } else if (there > most) {
        refuse(request, response, Problem.Kind.THROTTLED, "There is too much to do at the moment.");
      } else if (DOCUMENT.matcher(request.getRequestURI()).matches()) {
        inTurn(request, response, rest);
      } else {
        rest.doFilter(request, response);
      }
    } finally {
      present.decrementAndGet();
    }
  }

  private void inTurn(HttpServletRequest request, HttpServletResponse response, FilterChain rest)
      throws IOException, ServletException {
    if (!hasTurn()) {
      refuse(request, response, Problem.Kind.THROTTLED, "Other plans are being handed over.");
      return;
    }
    try {
      rest.doFilter(request, response);
    } finally {
      documents.release();
    }
  }

  private boolean hasTurn() {
    try {
      return documents.tryAcquire(patience.toMillis(), TimeUnit.MILLISECONDS);
    } catch (InterruptedException stopping) {
      Thread.currentThread().interrupt();
      return false;
    }
  }

  private void refuse(
      HttpServletRequest request, HttpServletResponse response, Problem.Kind kind, String text)
      throws IOException {
    Problem problem = Problem.of(kind, text + " Nothing was stored.");
    response.setStatus(problem.status());
    response.setHeader(RequestIds.HEADER, RequestIds.of(request));
    problem
        .retryAfterSeconds()
        .ifPresent(seconds -> response.setHeader("Retry-After", Integer.toString(seconds)));
    boolean fhir = request.getServletPath().startsWith("/fhir");
    response.setContentType(
        fhir ? "application/fhir+json;charset=UTF-8" : "text/plain;charset=UTF-8");
    String body =
        fhir
            ? context.newJsonParser().encodeResourceToString(Outcomes.of(problem))
            : problem.getMessage();
    response.getOutputStream().write(body.getBytes(StandardCharsets.UTF_8));
  }
}
