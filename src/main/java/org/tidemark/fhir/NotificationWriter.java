package org.tidemark.fhir;

import java.util.Date;
import java.util.List;
import java.util.Optional;
import java.util.UUID;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleEntryComponent;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.InstantType;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Parameters.ParametersParameterComponent;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.StringType;
import org.tidemark.fhir.SubscriptionReader.Content;

/**
 * Writes notifications as the guide "Subscriptions R5 Backport" puts them into R4: a history Bundle
 * that begins with the status of the subscription.
 */
public final class NotificationWriter {
  private static final String GUIDE =
      "http://hl7.org/fhir/uv/subscriptions-backport/StructureDefinition/";

  /** What a notification is about. */
  public enum Kind {
    HANDSHAKE("handshake"),
    HEARTBEAT("heartbeat"),
    EVENT("event-notification"),
    STATUS("query-status"),
    QUERY("query-event");

    private final String code;

    Kind(String code) {
      this.code = code;
    }
  }

  /**
   * The subscription as a notification tells of it.
   *
   * @param reference the Subscription, absolute
   * @param topic the address of its topic; empty when it is by a search
   * @param status its status, as a code
   * @param events how many events there have been since it began
   */
  public record About(String reference, Optional<String> topic, String status, long events) {}

  /**
   * An event as a notification tells of it.
   *
   * @param number its number
   * @param occurredMs when it happened
   * @param focus the record, absolute and without a version
   * @param version the version that it made
   * @param resource the record in that version, where it is still to be had
   */
  public record Told(
      long number, long occurredMs, String focus, long version, Optional<Resource> resource) {}

  private NotificationWriter() {}

  /** A notification of events, which tells as much as the subscription asks for. */
  public static Bundle write(Kind kind, About about, List<Told> events, Content content, Date now) {
    Bundle bundle = new Bundle().setType(Bundle.BundleType.HISTORY);
    bundle.getMeta().addProfile(GUIDE + "backport-subscription-notification-r4");
    bundle.setTimestamp(now);
    Parameters status = status(kind, about);
    events.forEach(event -> event(status, event, content));
    BundleEntryComponent first = bundle.addEntry();
    first.setFullUrl("urn:uuid:" + uuid(kind, about, now)).setResource(status);
    first.getRequest().setMethod(Bundle.HTTPVerb.GET).setUrl(about.reference() + "/$status");
    first.getResponse().setStatus("200");
    if (content != Content.EMPTY) {
      events.forEach(event -> entry(bundle, event, content));
    }
    return bundle;
  }

  /** The status of a subscription. */
  public static Parameters status(Kind kind, About about) {
    Parameters status = new Parameters();
    status.getMeta().addProfile(GUIDE + "backport-subscription-status-r4");
    status.addParameter().setName("subscription").setValue(new Reference(about.reference()));
    about
        .topic()
        .ifPresent(
            topic -> status.addParameter().setName("topic").setValue(new CanonicalType(topic)));
    status.addParameter().setName("status").setValue(new CodeType(about.status()));
    status.addParameter().setName("type").setValue(new CodeType(kind.code));
    status
        .addParameter()
        .setName("events-since-subscription-start")
        .setValue(new StringType(Long.toString(about.events())));
    return status;
  }

  private static void event(Parameters status, Told event, Content content) {
    ParametersParameterComponent told = status.addParameter().setName("notification-event");
    told.addPart().setName("event-number").setValue(new StringType(Long.toString(event.number())));
    told.addPart()
        .setName("timestamp")
        .setValue(
            new InstantType(
                new Date(event.occurredMs()),
                ca.uhn.fhir.model.api.TemporalPrecisionEnum.MILLI,
                java.util.TimeZone.getTimeZone("UTC")));
    if (content != Content.EMPTY) {
      told.addPart().setName("focus").setValue(new Reference(event.focus()));
    }
  }

  private static void entry(Bundle bundle, Told event, Content content) {
    boolean there =
        bundle.getEntry().stream().anyMatch(entry -> event.focus().equals(entry.getFullUrl()));
    boolean full = content == Content.FULL_RESOURCE && event.resource().isPresent();
    if (there && !full) {
      return;
    }
    BundleEntryComponent entry = bundle.addEntry();
    entry.setFullUrl(event.focus());
    if (full) {
      entry.setResource(event.resource().get());
    }
    boolean fresh = event.version() == 1;
    entry
        .getRequest()
        .setMethod(fresh ? Bundle.HTTPVerb.POST : Bundle.HTTPVerb.PUT)
        .setUrl(
            fresh
                ? References.typeOf(event.focus())
                : References.typeOf(event.focus()) + "/" + References.idOf(event.focus()));
    entry.getResponse().setStatus(fresh ? "201" : "200");
  }

  private static UUID uuid(Kind kind, About about, Date now) {
    return UUID.nameUUIDFromBytes(
        (about.reference() + kind + about.events() + now.getTime())
            .getBytes(java.nio.charset.StandardCharsets.UTF_8));
  }
}
