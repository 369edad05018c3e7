package org.tidemark.exchange;

import ca.uhn.fhir.rest.annotation.IdParam;
import ca.uhn.fhir.rest.annotation.Operation;
import ca.uhn.fhir.rest.annotation.OperationParam;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.Arrays;
import java.util.Locale;
import java.util.Optional;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.Subscription;
import org.tidemark.application.Notifications;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.SubscriptionReader.Content;
import org.tidemark.http.Operations;

/** The operations on subscriptions, of the guide "Subscriptions R5 Backport" and of our own. */
@ApplicationScoped
public class SubscriptionOperations implements Operations {
  private static final String GUIDE =
      "http://hl7.org/fhir/uv/subscriptions-backport/OperationDefinition/backport-subscription-";

  private final Notifications notifications;

  SubscriptionOperations(Notifications notifications) {
    this.notifications = notifications;
  }

  /** {@code Subscription/[id]/$status}: how a subscription stands. */
  @Operation(
      name = "$status",
      type = Subscription.class,
      idempotent = true,
      canonicalUrl = GUIDE + "status")
  public Bundle status(@IdParam IdType id) {
    Parameters status = notifications.status(id.getIdPart());
    Bundle answer = new Bundle().setType(Bundle.BundleType.SEARCHSET).setTotal(1);
    answer
        .addEntry()
        .setFullUrl("urn:uuid:" + java.util.UUID.randomUUID())
        .setResource(status)
        .getSearch()
        .setMode(Bundle.SearchEntryMode.MATCH);
    return answer;
  }

  /** {@code Subscription/[id]/$events}: events by their numbers, delivered or not. */
  @Operation(
      name = "$events",
      type = Subscription.class,
      idempotent = true,
      canonicalUrl = GUIDE + "events")
  public Bundle events(
      @IdParam IdType id,
      @OperationParam(name = "eventsSinceNumber") StringType since,
      @OperationParam(name = "eventsUntilNumber") StringType until,
      @OperationParam(name = "content") CodeType content) {
    return notifications.events(
        id.getIdPart(),
        number("eventsSinceNumber", since, 1),
        number("eventsUntilNumber", until, Long.MAX_VALUE),
        Optional.ofNullable(content).map(SubscriptionOperations::content));
  }

  /** {@code Subscription/[id]/$undelivered}: the events that the endpoint has not taken. */
  @Operation(name = "$undelivered", type = Subscription.class, idempotent = true)
  public Bundle undelivered(@IdParam IdType id) {
    return notifications.undelivered(id.getIdPart());
  }

  /** {@code Subscription/[id]/$resend}: sends events again. */
  @Operation(name = "$resend", type = Subscription.class)
  public Parameters resend(
      @IdParam IdType id,
      @OperationParam(name = "eventsSinceNumber") StringType since,
      @OperationParam(name = "eventsUntilNumber") StringType until) {
    int again =
        notifications.again(
            id.getIdPart(),
            number("eventsSinceNumber", since, 1),
            number("eventsUntilNumber", until, Long.MAX_VALUE));
    Parameters answer = new Parameters();
    answer.addParameter().setName("events").setValue(new IntegerType(again));
    return answer;
  }

  private static long number(String name, StringType given, long usual) {
    if (given == null || !given.hasValue()) {
      return usual;
    }
    if (!given.getValue().matches("[0-9]{1,18}")) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "'" + name + "' is the number of an event.",
          "Parameters.parameter.where(name='" + name + "')");
    }
    return Long.parseLong(given.getValue());
  }

  private static Content content(CodeType code) {
    return Arrays.stream(Content.values())
        .filter(c -> c.name().toLowerCase(Locale.ROOT).replace('_', '-').equals(code.getValue()))
        .findFirst()
        .orElseThrow(
            () ->
                Problem.of(
                    Problem.Kind.BAD_REQUEST,
                    "The content is empty, id-only or full-resource.",
                    "Parameters.parameter.where(name='content')"));
  }
}
