package org.tidemark.exchange;

import io.quarkus.scheduler.Scheduled;
import jakarta.annotation.PreDestroy;
import jakarta.enterprise.context.ApplicationScoped;
import java.io.IOException;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpRequest.BodyPublishers;
import java.net.http.HttpResponse;
import java.net.http.HttpResponse.BodyHandlers;
import java.time.Duration;
import java.util.Optional;
import java.util.concurrent.ThreadPoolExecutor;
import java.util.concurrent.TimeUnit;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.tidemark.application.EndpointGuard;
import org.tidemark.application.Notifications;
import org.tidemark.application.Notifications.Sending;
import org.tidemark.application.Stopping;
import org.tidemark.clinic.Clinics;

/**
 * Sends notifications. Several senders work at once, in this process and in others; each takes one
 * subscription at a time, and no two of one endpoint, so that an endpoint that does not answer
 * holds up one sender at the most. Redirections are not followed.
 */
@ApplicationScoped
public class Notifier {
  private static final int SENDERS = 8;
  private static final Duration TO_CONNECT = Duration.ofSeconds(5);

  private final Notifications notifications;
  private final EndpointGuard guard;
  private final Stopping stopping;
  private final Clinics clinics;
  private final Duration keep;
  private final HttpClient client =
      HttpClient.newBuilder()
          .connectTimeout(TO_CONNECT)
          .followRedirects(HttpClient.Redirect.NEVER)
          .version(HttpClient.Version.HTTP_1_1)
          .build();
  private final ThreadPoolExecutor senders =
      new ThreadPoolExecutor(
          0,
          SENDERS,
          1,
          TimeUnit.SECONDS,
          new java.util.concurrent.SynchronousQueue<>(),
          new ThreadPoolExecutor.DiscardPolicy());

  Notifier(
      Notifications notifications,
      EndpointGuard guard,
      Stopping stopping,
      Clinics clinics,
      @ConfigProperty(name = "tidemark.subscriptions.keep") Duration keep) {
    this.notifications = notifications;
    this.guard = guard;
    this.stopping = stopping;
    this.clinics = clinics;
    this.keep = keep;
  }

  /** Wakes as many senders as are idle; each ends when nothing is left to send. */
  @Scheduled(every = "{tidemark.subscriptions.every}")
  void wake() {
    for (int i = 0; i < SENDERS; i++) {
      senders.execute(this::send);
    }
  }

  /** Forgets what was delivered long ago. */
  @Scheduled(every = "1h", delayed = "1m")
  void forget() {
    clinics.each(() -> notifications.forget(keep));
  }

  @PreDestroy
  void stop() {
    senders.shutdownNow();
  }

  /** Sends whatever is due now. */
  public void send() {
    clinics.inTurns(this::next);
  }

  /** Sends one thing, and says whether there was one. */
  private boolean next() {
    try {
      Optional<Sending> next = stopping.begun() ? Optional.empty() : notifications.next();
      next.ifPresent(this::send);
      return next.isPresent();
    } catch (RuntimeException failed) {
      stopping.log(failed);
      return false;
    }
  }

  private void send(Sending sending) {
    Optional<String> problem = guard.refuses(sending.address()).or(() -> tried(sending));
    if (problem.isPresent()) {
      notifications.refused(sending, problem.get());
    } else {
      notifications.taken(sending);
    }
  }

  /** Sends once; says what went wrong. */
  private Optional<String> tried(Sending sending) {
    try {
      HttpResponse<Void> answer = client.send(request(sending), BodyHandlers.discarding());
      return answer.statusCode() / 100 == 2
          ? Optional.empty()
          : Optional.of("The endpoint answered " + answer.statusCode() + ".");
    } catch (java.net.http.HttpTimeoutException late) {
      return Optional.of("The endpoint did not answer in time.");
    } catch (IOException unreachable) {
      return Optional.of("The endpoint could not be reached.");
    } catch (IllegalArgumentException wrong) {
      return Optional.of("A header of the channel cannot be sent.");
    } catch (InterruptedException stopping) {
      Thread.currentThread().interrupt();
      return Optional.of("The service was stopping.");
    }
  }

  private static HttpRequest request(Sending sending) {
    HttpRequest.Builder request =
        HttpRequest.newBuilder(URI.create(sending.address())).timeout(sending.timeout());
    for (String header : sending.headers()) {
      int colon = header.indexOf(':');
      request.header(header.substring(0, colon), header.substring(colon + 1).strip());
    }
    sending.body().ifPresent(body -> request.setHeader("Content-Type", "application/fhir+json"));
    return request
        .method(
            sending.method(),
            sending.body().map(BodyPublishers::ofString).orElseGet(BodyPublishers::noBody))
        .build();
  }
}
