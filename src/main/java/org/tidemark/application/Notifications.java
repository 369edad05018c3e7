package org.tidemark.application;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.time.Clock;
import java.time.Duration;
import java.util.Date;
import java.util.List;
import java.util.Optional;
import java.util.OptionalLong;
import java.util.concurrent.ThreadLocalRandom;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.Subscription;
import org.hl7.fhir.r4.model.Subscription.SubscriptionStatus;
import org.tidemark.access.Action;
import org.tidemark.fhir.NotificationWriter;
import org.tidemark.fhir.NotificationWriter.About;
import org.tidemark.fhir.NotificationWriter.Kind;
import org.tidemark.fhir.NotificationWriter.Told;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.fhir.SubscriptionReader;
import org.tidemark.fhir.SubscriptionReader.Content;
import org.tidemark.fhir.SubscriptionReader.Read;
import org.tidemark.store.SubscriptionStore;
import org.tidemark.store.SubscriptionStore.Event;
import org.tidemark.store.SubscriptionStore.Standing;

/**
 * The delivery of subscriptions, apart from the sending itself: what is to be sent next, and what
 * follows when it was taken or was not. A subscription is sent to by one sender at a time, who has
 * it for a lease; what a sender that ended has not finished is sent again, so that each event
 * arrives at least once, in order.
 */
@ApplicationScoped
public class Notifications {
  /** After so many failures in a row a subscription is in error, and only its client ends that. */
  static final int TRIES = 3;

  /** The most events that are answered at once. */
  private static final int MOST_ANSWERED = 1000;

  private static final Duration BEYOND_TIMEOUT = Duration.ofSeconds(30);
  private static final Duration LONGEST_PAUSE = Duration.ofMinutes(5);
  private static final int LONGEST_TIMEOUT_SECONDS = 30;
  private static final double HALF = 0.5;

  private final SubscriptionStore store;
  private final Records records;
  private final Subscriptions subscriptions;
  private final Guard guard;
  private final References references;
  private final FhirContext context;
  private final Duration pause;
  private final Clock clock;

  Notifications(
      SubscriptionStore store,
      Records records,
      Subscriptions subscriptions,
      Guard guard,
      References references,
      FhirContext context,
      @ConfigProperty(name = "tidemark.subscriptions.pause") Duration pause,
      Clock clock) {
    this.store = store;
    this.records = records;
    this.subscriptions = subscriptions;
    this.guard = guard;
    this.references = references;
    this.context = context;
    this.pause = pause;
    this.clock = clock;
  }

  /**
   * One request to an endpoint.
   *
   * @param subscription the id of the Subscription
   * @param method POST or PUT
   * @param address where to
   * @param headers lines {@code name: value}
   * @param body what is sent, empty for nothing
   * @param timeout how long the endpoint may take
   * @param upTo the number of the last event in it, 0 when there is none
   */
  public record Sending(
      String subscription,
      String method,
      String address,
      List<String> headers,
      Optional<String> body,
      Duration timeout,
      long upTo) {}

  /** Takes the next thing that is to be sent; empty when there is none now. */
  public Optional<Sending> next() {
    long now = clock.millis();
    long until = now + BEYOND_TIMEOUT.plusSeconds(LONGEST_TIMEOUT_SECONDS).toMillis();
    Optional<String> claimed =
        QuarkusTransaction.requiringNew().call(() -> store.claim(now, until));
    return claimed.flatMap(id -> QuarkusTransaction.requiringNew().call(() -> prepared(id, now)));
  }

  private Optional<Sending> prepared(String id, long now) {
    Standing standing = store.lock(id).orElseThrow();
    long events = store.number(standing);
    Subscription subscription = records.find(Subscription.class, id).orElseThrow();
    Read read = SubscriptionReader.read(subscription);
    if (standing.endsMs() <= now) {
      settle(standing, subscription, SubscriptionStatus.OFF, "");
      return Optional.empty();
    }
    About about = about(subscription, read, standing.status(), events);
    if (read.search().isPresent()) {
      return bySearch(standing, subscription, read);
    }
    if (standing.status().equals(SubscriptionStatus.REQUESTED.toCode())) {
      return Optional.of(sending(subscription, read, Kind.HANDSHAKE, about, List.of()));
    }
    List<Event> waiting = store.waiting(id, read.mostEvents());
    return Optional.of(
        sending(
            subscription, read, waiting.isEmpty() ? Kind.HEARTBEAT : Kind.EVENT, about, waiting));
  }

  private Sending sending(
      Subscription subscription, Read read, Kind kind, About about, List<Event> events) {
    Bundle notification =
        NotificationWriter.write(kind, about, told(events, read.content()), read.content(), now());
    return new Sending(
        idOf(subscription),
        "POST",
        subscription.getChannel().getEndpoint(),
        headers(subscription),
        Optional.of(context.newJsonParser().encodeResourceToString(notification)),
        Duration.ofSeconds(read.timeoutSeconds()),
        events.isEmpty() ? 0 : events.get(events.size() - 1).number());
  }

  /**
   * R4's own rest-hook: without a payload a POST that says nothing, with one the record as an
   * update; there is no handshake.
   */
  private Optional<Sending> bySearch(Standing standing, Subscription subscription, Read read) {
    String id = idOf(subscription);
    if (standing.status().equals(SubscriptionStatus.REQUESTED.toCode())) {
      settle(standing, subscription, SubscriptionStatus.ACTIVE, "");
      return Optional.empty();
    }
    List<Event> waiting = store.waiting(id, 1);
    if (waiting.isEmpty()) {
      store.succeeded(id, standing.status(), clock.millis());
      return Optional.empty();
    }
    Event event = waiting.get(0);
    Optional<Resource> record =
        records
            .findVersion(event.type(), event.id(), event.version())
            .filter(r -> read.sendsResource());
    String endpoint = subscription.getChannel().getEndpoint();
    return Optional.of(
        new Sending(
            id,
            record.isPresent() ? "PUT" : "POST",
            record.isPresent()
                ? endpoint.replaceFirst("/$", "") + "/" + event.type() + "/" + event.id()
                : endpoint,
            headers(subscription),
            record.map(context.newJsonParser()::encodeResourceToString),
            Duration.ofSeconds(read.timeoutSeconds()),
            event.number()));
  }

  private static List<String> headers(Subscription subscription) {
    return subscription.getChannel().getHeader().stream().map(StringType::getValue).toList();
  }

  /** Takes note that the endpoint has taken something. */
  public void taken(Sending sending) {
    QuarkusTransaction.requiringNew()
        .run(
            () ->
                store
                    .lock(sending.subscription())
                    .ifPresent(
                        standing -> {
                          store.delivered(sending.subscription(), sending.upTo());
                          if (standing.status().equals(SubscriptionStatus.REQUESTED.toCode())) {
                            settle(
                                standing,
                                records
                                    .find(Subscription.class, sending.subscription())
                                    .orElseThrow(),
                                SubscriptionStatus.ACTIVE,
                                "");
                          } else {
                            store.succeeded(
                                sending.subscription(), standing.status(), clock.millis());
                          }
                        }));
  }

  /**
   * Takes note that the endpoint has not taken something. It is tried again after a pause that
   * doubles each time; a handshake is not.
   *
   * @param why in a few words, without anything that the endpoint has said
   */
  public void refused(Sending sending, String why) {
    QuarkusTransaction.requiringNew()
        .run(
            () -> store.lock(sending.subscription()).ifPresent(standing -> refused(standing, why)));
  }

  private void refused(Standing standing, String why) {
    int attempts = standing.attempts() + 1;
    boolean handshake = standing.status().equals(SubscriptionStatus.REQUESTED.toCode());
    if (standing.status().equals(SubscriptionStatus.OFF.toCode())) {
      store.failed(standing.id(), standing.status(), attempts, clock.millis());
    } else if (handshake || attempts >= TRIES) {
      Subscription subscription = records.find(Subscription.class, standing.id()).orElseThrow();
      settle(standing, subscription, SubscriptionStatus.ERROR, why);
    } else {
      double spread = HALF + ThreadLocalRandom.current().nextDouble();
      long wait =
          (long)
              (Math.min(
                      LONGEST_PAUSE.toMillis(), (double) pause.toMillis() * (1L << (attempts - 1)))
                  * spread);
      store.failed(standing.id(), standing.status(), attempts, clock.millis() + wait);
    }
  }

  private void settle(
      Standing standing, Subscription subscription, SubscriptionStatus status, String error) {
    subscription.setStatus(status).setError(error.isEmpty() ? null : error);
    records.put(subscription);
    store.succeeded(standing.id(), status.toCode(), clock.millis());
  }

  // ---- what clients ask ----

  /**
   * The status of a subscription.
   *
   * @param id its id
   * @throws Problem when there is none
   */
  public Parameters status(String id) {
    return QuarkusTransaction.requiringNew()
        .call(
            () -> {
              Subscription subscription = found(id);
              Standing standing = store.lock(id).orElseThrow();
              long events = store.number(standing);
              return NotificationWriter.status(
                  Kind.STATUS,
                  about(
                      subscription,
                      SubscriptionReader.read(subscription),
                      standing.status(),
                      events));
            });
  }

  /**
   * Events of a subscription, delivered or not, in their order; as many as are answered at once.
   *
   * @param id its id
   * @param first the number of the first
   * @param last the number of the last
   * @param content how much is told; as the subscription says when empty
   * @throws Problem when there is no such subscription
   */
  public Bundle events(String id, long first, long last, Optional<Content> content) {
    return query(id, content, () -> store.between(id, first, last, MOST_ANSWERED));
  }

  /**
   * The events of a subscription that its endpoint has not taken.
   *
   * @param id its id
   * @throws Problem when there is no such subscription
   */
  public Bundle undelivered(String id) {
    return query(id, Optional.empty(), () -> store.waiting(id, MOST_ANSWERED));
  }

  private Bundle query(
      String id, Optional<Content> content, java.util.function.Supplier<List<Event>> wanted) {
    return QuarkusTransaction.requiringNew()
        .call(
            () -> {
              Subscription subscription = found(id);
              Read read = SubscriptionReader.read(subscription);
              subscriptions.requireToldOf(read);
              Standing standing = store.lock(id).orElseThrow();
              long events = store.number(standing);
              Content told = content.orElse(read.content());
              return NotificationWriter.write(
                  Kind.QUERY,
                  about(subscription, read, standing.status(), events),
                  told(wanted.get(), told),
                  told,
                  now());
            });
  }

  /**
   * Sends events again that were delivered before.
   *
   * @param id the subscription
   * @param first the number of the first
   * @param last the number of the last
   * @return how many
   * @throws Problem when there is no such subscription
   */
  public int again(String id, long first, long last) {
    return QuarkusTransaction.requiringNew()
        .call(
            () -> {
              guard.require(Action.UPDATE, "Subscription");
              found(id);
              return store.again(id, first, last);
            });
  }

  /** Forgets events that were delivered so long ago. */
  public void forget(Duration after) {
    QuarkusTransaction.requiringNew().run(() -> store.forget(clock.millis() - after.toMillis()));
  }

  private Subscription found(String id) {
    return records
        .read("Subscription", id, OptionalLong.empty())
        .map(Subscription.class::cast)
        .orElseThrow(() -> records.absent(Address.of("Subscription", id)));
  }

  private About about(Subscription subscription, Read read, String status, long events) {
    return new About(
        references.base() + "Subscription/" + idOf(subscription),
        read.topic().map(topic -> topic.url()),
        status,
        events);
  }

  private List<Told> told(List<Event> events, Content content) {
    return events.stream()
        .map(
            event ->
                new Told(
                    event.number(),
                    event.occurredMs(),
                    references.base() + event.type() + "/" + event.id(),
                    event.version(),
                    content == Content.FULL_RESOURCE
                        ? records.findVersion(event.type(), event.id(), event.version())
                        : Optional.empty()))
        .toList();
  }

  private Date now() {
    return new Date(clock.millis());
  }

  private static String idOf(Subscription subscription) {
    return subscription.getIdElement().getIdPart();
  }
}
