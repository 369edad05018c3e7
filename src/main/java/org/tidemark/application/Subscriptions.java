package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.time.Clock;
import java.util.List;
import java.util.Map;
import java.util.Set;
import org.hl7.fhir.r4.model.Subscription;
import org.hl7.fhir.r4.model.Subscription.SubscriptionStatus;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.SubscriptionReader;
import org.tidemark.fhir.SubscriptionReader.Read;
import org.tidemark.fhir.Topic;
import org.tidemark.store.SubscriptionStore;
import org.tidemark.store.SubscriptionStore.Subscribed;

/** Takes Subscriptions in. Whether they become active is decided where they are delivered. */
@ApplicationScoped
class Subscriptions {
  private static final int MILLISECONDS = 1000;

  /** What a subscription gives nobody notice of: itself, and what is only published. */
  private static final Set<String> NEVER = Set.of("Subscription");

  private final SubscriptionStore store;
  private final Searching searching;
  private final EndpointGuard endpoints;
  private final Guard guard;
  private final Clock clock;

  Subscriptions(
      SubscriptionStore store,
      Searching searching,
      EndpointGuard endpoints,
      Guard guard,
      Clock clock) {
    this.store = store;
    this.searching = searching;
    this.endpoints = endpoints;
    this.guard = guard;
    this.clock = clock;
  }

  /** What a subscription by a search waits for. */
  static String awaiting(String type) {
    return "type:" + type;
  }

  /** The parameters of a search, decoded. */
  static Map<String, List<String>> parameters(String search) {
    return search.indexOf('?') < 0 || search.endsWith("?")
        ? Map.of()
        : Condition.read(search, "Subscription.criteria").query();
  }

  /**
   * Refuses a Subscription that asks for something that is not offered.
   *
   * @return what is stored: one that is not turned off waits for its handshake, whatever status the
   *     client gives it
   */
  Subscription admit(Subscription sent) {
    Read read = SubscriptionReader.read(sent);
    read.search().ifPresent(this::requireSearch);
    requireToldOf(read);
    endpoints
        .find(sent.getChannel().getEndpoint())
        .refusal()
        .ifPresent(
            why -> {
              throw Problem.of(Problem.Kind.BUSINESS_RULE, why, "Subscription.channel.endpoint");
            });
    Subscription kept = sent.copy();
    kept.setError(null);
    if (sent.getStatus() != SubscriptionStatus.OFF) {
      kept.setStatus(SubscriptionStatus.REQUESTED);
    }
    return kept;
  }

  /**
   * Requires that the caller may see everyone's records of what is told: the endpoint gets them
   * without a token.
   */
  void requireToldOf(Read read) {
    read.search()
        .ifPresentOrElse(
            search -> guard.requireAll(search.split("\\?", 2)[0]), guard::requireClinic);
  }

  private void requireSearch(String search) {
    String type = search.split("\\?", 2)[0];
    if (!Types.isServed(type) || NEVER.contains(type)) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED,
          "The criteria are a topic, or a search such as Observation?code=72514-3.",
          "Subscription.criteria");
    }
    try {
      searching.read(type, parameters(search));
    } catch (Problem notUnderstood) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED, notUnderstood.getMessage(), "Subscription.criteria");
    }
  }

  /** Puts a Subscription as it is stored to where its delivery is looked after. */
  void follow(Subscription subscription) {
    Read read = SubscriptionReader.read(subscription);
    store.keep(
        new Subscribed(
            subscription.getIdElement().getIdPart(),
            read.topic()
                .map(Topic::url)
                .orElseGet(() -> awaiting(read.search().orElseThrow().split("\\?", 2)[0])),
            subscription.getStatus().toCode(),
            subscription.getChannel().getEndpoint(),
            (long) read.heartbeatSeconds() * MILLISECONDS,
            subscription.hasEnd() ? subscription.getEnd().getTime() : Long.MAX_VALUE),
        clock.millis());
  }

  /** Forgets a Subscription that is deleted. */
  void drop(String id) {
    store.drop(id);
  }
}
