package org.tidemark.exchange;

import io.quarkus.scheduler.Scheduled;
import jakarta.annotation.PreDestroy;
import jakarta.enterprise.context.ApplicationScoped;
import java.io.IOException;
import java.io.InterruptedIOException;
import java.net.InetAddress;
import java.net.SocketTimeoutException;
import java.net.URI;
import java.time.Duration;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.concurrent.ThreadPoolExecutor;
import java.util.concurrent.TimeUnit;
import java.util.concurrent.atomic.AtomicInteger;
import java.util.concurrent.locks.LockSupport;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.tidemark.application.EndpointGuard;
import org.tidemark.application.EndpointGuard.Found;
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
  private static final long LINGER_NS = 20_000_000;
  private static final int TIMES_IDLE = 25;

  private final Notifications notifications;
  private final EndpointGuard guard;
  private final Outgoing outgoing;
  private final Stopping stopping;
  private final Clinics clinics;
  private final Duration keep;
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
      Outgoing outgoing,
      Stopping stopping,
      Clinics clinics,
      @ConfigProperty(name = "tidemark.subscriptions.keep") Duration keep) {
    this.notifications = notifications;
    this.guard = guard;
    this.outgoing = outgoing;
    this.stopping = stopping;
    this.clinics = clinics;
    this.keep = keep;
  }

  /** Wakes as many senders as are idle; each ends when nothing is left to send. */
  @Scheduled(every = "{tidemark.subscriptions.every}")
  void wake() {
    for (int i = 0; i < SENDERS; i++) {
      senders.execute(this::sendOn);
    }
  }

  /**
   * Sends for as long as something is due. What others hold is free a moment later: who has sent
   * something looks again a few times before it ends.
   */
  private void sendOn() {
    AtomicInteger sent = new AtomicInteger();
    int idle = 0;
    do {
      int before = sent.get();
      clinics.inTurns(() -> next() && sent.incrementAndGet() > 0);
      idle = sent.get() > before ? 0 : idle + 1;
      LockSupport.parkNanos(sent.get() > 0 ? LINGER_NS : 0);
    } while (sent.get() > 0 && idle < TIMES_IDLE && !stopping.begun());
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
      Optional<Sending> next = stopping.claim(notifications::next);
      next.ifPresent(this::send);
      return next.isPresent();
    } catch (RuntimeException failed) {
      stopping.log(failed);
      return false;
    }
  }

  private void send(Sending sending) {
    Found found = guard.find(sending.address());
    Optional<String> problem = found.refusal().or(() -> tried(sending, found.addresses()));
    if (problem.isPresent()) {
      notifications.refused(sending, problem.get());
    } else {
      notifications.taken(sending);
    }
  }

  /** Sends once; says what went wrong. */
  private Optional<String> tried(Sending sending, List<InetAddress> addresses) {
    try {
      int status = outgoing.send(request(sending, addresses)).status();
      return status / 100 == 2
          ? Optional.empty()
          : Optional.of("The endpoint answered " + status + ".");
    } catch (SocketTimeoutException late) {
      return Optional.of("The endpoint did not answer in time.");
    } catch (InterruptedIOException stopping) {
      return Optional.of("The service was stopping.");
    } catch (IOException unreachable) {
      return Optional.of("The endpoint could not be reached.");
    } catch (IllegalArgumentException wrong) {
      return Optional.of("A header of the channel cannot be sent.");
    }
  }

  private static Outgoing.Sent request(Sending sending, List<InetAddress> addresses) {
    Map<String, String> headers = new LinkedHashMap<>();
    for (String header : sending.headers()) {
      int colon = header.indexOf(':');
      headers.put(header.substring(0, colon), header.substring(colon + 1).strip());
    }
    sending.body().ifPresent(body -> headers.put("Content-Type", "application/fhir+json"));
    return new Outgoing.Sent(
        sending.method(),
        URI.create(sending.address()),
        addresses,
        headers,
        sending.body(),
        sending.timeout());
  }
}
