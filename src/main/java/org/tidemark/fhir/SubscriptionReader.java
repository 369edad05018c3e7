package org.tidemark.fhir;

import java.util.LinkedHashMap;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.Element;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.PrimitiveType;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Subscription;
import org.hl7.fhir.r4.model.Subscription.SubscriptionChannelComponent;
import org.hl7.fhir.r4.model.Subscription.SubscriptionChannelType;

/**
 * Reads a Subscription: by topic, as the guide "Subscriptions R5 Backport" puts it into R4, or by
 * R4's own criteria, a search.
 */
public final class SubscriptionReader {
  private static final String GUIDE =
      "http://hl7.org/fhir/uv/subscriptions-backport/StructureDefinition/";
  private static final String FILTER = GUIDE + "backport-filter-criteria";
  private static final String CONTENT = GUIDE + "backport-payload-content";
  private static final String HEARTBEAT = GUIDE + "backport-heartbeat-period";
  private static final String TIMEOUT = GUIDE + "backport-timeout";
  private static final String MOST = GUIDE + "backport-max-count";

  /** What whoever sends says of the connection and the body. */
  private static final Set<String> OF_THE_CONNECTION =
      Set.of(
          "connection",
          "content-encoding",
          "content-length",
          "expect",
          "host",
          "keep-alive",
          "te",
          "trailer",
          "transfer-encoding",
          "upgrade");

  private static final String JSON = "application/fhir+json";
  private static final int USUAL_TIMEOUT_SECONDS = 10;
  private static final int LONGEST_TIMEOUT_SECONDS = 30;
  private static final int SHORTEST_HEARTBEAT_SECONDS = 5;
  private static final int USUAL_MOST = 20;
  private static final int LONGEST_ENDPOINT = 400;

  private SubscriptionReader() {}

  /** How much a notification tells. */
  public enum Content {
    EMPTY,
    ID_ONLY,
    FULL_RESOURCE
  }

  /**
   * A subscription as it is read.
   *
   * @param topic the topic; empty when it is by a search
   * @param search the search by which it is; empty when it is by a topic
   * @param patient only about this person, as a reference
   * @param plan only about the plan with this id
   * @param content how much a notification tells
   * @param sendsResource by a search: whether the record itself is sent
   * @param heartbeatSeconds how often a sign of life is sent, 0 for never
   * @param timeoutSeconds how long the endpoint may take
   * @param mostEvents the most events in one notification
   */
  public record Read(
      Optional<Topic> topic,
      Optional<String> search,
      Optional<String> patient,
      Optional<String> plan,
      Content content,
      boolean sendsResource,
      int heartbeatSeconds,
      int timeoutSeconds,
      int mostEvents) {}

  /**
   * Reads a Subscription.
   *
   * @throws Problem when it asks for something that is not offered
   */
  public static Read read(Subscription subscription) {
    String criteria = Optional.ofNullable(subscription.getCriteria()).orElse("");
    Optional<Topic> topic = Topic.find(criteria);
    if (topic.isEmpty() && criteria.contains("://")) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED,
          "There is no topic " + criteria + " here.",
          "Subscription.criteria");
    }
    SubscriptionChannelComponent channel = subscription.getChannel();
    channel(channel);
    Map<String, String> filters = filters(subscription, topic);
    Optional<Content> content = content(channel, topic.isPresent());
    return new Read(
        topic,
        topic.isPresent() ? Optional.empty() : Optional.of(criteria),
        Optional.ofNullable(filters.get("patient")),
        Optional.ofNullable(filters.get("plan")),
        content.orElse(Content.EMPTY),
        channel.hasPayload(),
        number(channel, HEARTBEAT, 0, SHORTEST_HEARTBEAT_SECONDS, Integer.MAX_VALUE / 1000),
        number(channel, TIMEOUT, USUAL_TIMEOUT_SECONDS, 1, LONGEST_TIMEOUT_SECONDS),
        number(channel, MOST, USUAL_MOST, 1, USUAL_MOST));
  }

  private static void channel(SubscriptionChannelComponent channel) {
    if (channel.getType() != SubscriptionChannelType.RESTHOOK) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED,
          "Notifications are sent by rest-hook.",
          "Subscription.channel.type");
    }
    if (!channel.hasEndpoint() || channel.getEndpoint().length() > LONGEST_ENDPOINT) {
      throw Problem.of(
          Problem.Kind.MISSING,
          "An endpoint is needed, of %d characters at the most.".formatted(LONGEST_ENDPOINT),
          "Subscription.channel.endpoint");
    }
    if (channel.hasPayload() && !channel.getPayload().split(";")[0].trim().equals(JSON)) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED,
          "Notifications are sent as " + JSON + ".",
          "Subscription.channel.payload");
    }
    for (int i = 0; i < channel.getHeader().size(); i++) {
      if (!String.valueOf(channel.getHeader().get(i).getValue()).matches("[!-9;-~]+:[ -~]+")) {
        throw Problem.of(
            Problem.Kind.INVALID_VALUE,
            "A header is written as 'name: value'.",
            "Subscription.channel.header[" + i + "]");
      }
      String name = channel.getHeader().get(i).getValue().split(":", 2)[0];
      if (OF_THE_CONNECTION.contains(name.toLowerCase(Locale.ROOT))) {
        throw Problem.of(
            Problem.Kind.INVALID_VALUE,
            "The header " + name + " is the sender's own.",
            "Subscription.channel.header[" + i + "]");
      }
    }
  }

  /** Filters by the person and the plan, each once, in the form of a search. */
  private static Map<String, String> filters(Subscription subscription, Optional<Topic> topic) {
    Map<String, String> filters = new LinkedHashMap<>();
    for (Extension filter : extensions(subscription.getCriteriaElement(), FILTER)) {
      String text = String.valueOf(filter.getValueAsPrimitive().getValueAsString());
      String search = text.substring(text.indexOf('?') + 1);
      for (String part : search.split("&")) {
        String[] pair = part.split("=", 2);
        boolean known = Set.of("patient", "plan").contains(pair[0]) && pair.length == 2;
        if (topic.isEmpty() || !known || filters.put(pair[0], pair[1]) != null) {
          throw Problem.of(
              Problem.Kind.UNSUPPORTED,
              "A topic is filtered by patient and by plan (the id of a CarePlan), each once.",
              "Subscription.criteria.extension('" + FILTER + "')");
        }
      }
    }
    filters.computeIfPresent(
        "plan",
        (name, plan) -> new Reference(plan).getReference().replaceFirst("^.*CarePlan/", ""));
    filters.computeIfPresent(
        "patient", (name, patient) -> patient.contains("/") ? patient : "Patient/" + patient);
    return filters;
  }

  private static Optional<Content> content(SubscriptionChannelComponent channel, boolean needed) {
    Optional<String> code =
        extensions(channel.getPayloadElement(), CONTENT).stream()
            .findFirst()
            .map(extension -> extension.getValueAsPrimitive().getValueAsString());
    if (code.isEmpty()) {
      if (needed) {
        throw Problem.of(
            Problem.Kind.MISSING,
            "How much a notification tells is needed: empty, id-only or full-resource.",
            "Subscription.channel.payload.extension('" + CONTENT + "')");
      }
      return Optional.empty();
    }
    return Optional.of(
        switch (code.get()) {
          case "empty" -> Content.EMPTY;
          case "id-only" -> Content.ID_ONLY;
          case "full-resource" -> Content.FULL_RESOURCE;
          default ->
              throw Problem.of(
                  Problem.Kind.UNSUPPORTED,
                  "A notification tells empty, id-only or full-resource.",
                  "Subscription.channel.payload.extension('" + CONTENT + "')");
        });
  }

  private static int number(
      SubscriptionChannelComponent channel, String url, int usual, int least, int most) {
    Extension extension = channel.getExtensionByUrl(url);
    if (extension == null) {
      return usual;
    }
    int given =
        extension.getValue() instanceof PrimitiveType<?> number
                && number.getValue() instanceof Integer value
            ? value
            : 0;
    if (given < least || given > most) {
      throw Problem.of(
          Problem.Kind.OUT_OF_RANGE,
          "The number must be %d to %d.".formatted(least, most),
          "Subscription.channel.extension('" + url + "')");
    }
    return given;
  }

  private static java.util.List<Extension> extensions(Element element, String url) {
    return element.getExtensionsByUrl(url).stream().filter(Extension::hasValue).toList();
  }
}
