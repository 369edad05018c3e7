package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.Collection;
import java.util.List;
import java.util.Optional;
import org.hibernate.StatelessSession;
import org.hibernate.query.MutationQuery;
import org.hibernate.query.NativeQuery;
import org.tidemark.clinic.ActingClinic;

/**
 * Keeps subscriptions with what they wait for, and their events: an outbox that is written in the
 * transaction in which something happens. Every method joins the caller's transaction.
 */
@ApplicationScoped
public class SubscriptionStore {
  private static final String OF = " where clinic = :clinic and subscription_id = :id";

  private final StatelessSession session;

  SubscriptionStore(StatelessSession session) {
    this.session = session;
  }

  /**
   * A subscription.
   *
   * @param id its id
   * @param awaits what it waits for: a topic or a type
   * @param status its status, as a code
   * @param endpoint where it is delivered to
   * @param heartbeatMs how often a sign of life is sent, 0 for never
   * @param endsMs when it ends, in milliseconds since 1970 UTC
   */
  public record Subscribed(
      String id, String awaits, String status, String endpoint, long heartbeatMs, long endsMs) {}

  /**
   * Where the delivery of a subscription is.
   *
   * @param id its id
   * @param status its status, as a code
   * @param numbered how many events have a number: the number of the last one
   * @param attempts how often delivery has failed since it last went well
   * @param heartbeatMs how often a sign of life is sent, 0 for never
   * @param endsMs when it ends
   * @param sentMs when something was last sent
   */
  public record Standing(
      String id,
      String status,
      long numbered,
      int attempts,
      long heartbeatMs,
      long endsMs,
      long sentMs) {}

  /**
   * Something that has happened.
   *
   * @param eventId tells it from others of the subscription
   * @param number its number in the subscription, from 1; 0 before it has one
   * @param occurredMs when it happened
   * @param type the type of the record that it happened to
   * @param id the record's id
   * @param version the version that it made
   * @param delivered whether the endpoint has taken it
   */
  public record Event(
      String eventId,
      long number,
      long occurredMs,
      String type,
      String id,
      long version,
      boolean delivered) {}

  /**
   * Keeps a subscription as a client has written it; it is tried at once, and its events stay.
   *
   * @param subscribed the subscription
   * @param nowMs now
   */
  public void keep(Subscribed subscribed, long nowMs) {
    int there =
        filled(
                "update subscription_state set awaits = :awaits, status = :status,"
                    + " endpoint = :endpoint, heartbeat_ms = :heartbeat, ends_ms = :ends,"
                    + " attempts = 0, due_ms = :now"
                    + OF,
                subscribed,
                nowMs)
            .executeUpdate();
    if (there == 0) {
      filled(
              "insert into subscription_state (clinic, subscription_id, awaits, status, endpoint,"
                  + " heartbeat_ms, ends_ms, numbered, attempts, due_ms, lease_ms, sent_ms) values"
                  + " (:clinic, :id, :awaits, :status, :endpoint, :heartbeat, :ends, 0, 0, :now, 0,"
                  + " 0)",
              subscribed,
              nowMs)
          .executeUpdate();
    }
  }

  private MutationQuery filled(String statement, Subscribed subscribed, long nowMs) {
    return of(statement, subscribed.id())
        .setParameter("awaits", subscribed.awaits())
        .setParameter("status", subscribed.status())
        .setParameter("endpoint", subscribed.endpoint())
        .setParameter("heartbeat", subscribed.heartbeatMs())
        .setParameter("ends", subscribed.endsMs())
        .setParameter("now", nowMs);
  }

  private MutationQuery of(String statement, String id) {
    return session
        .createNativeMutationQuery(statement)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("id", id);
  }

  /** Forgets a subscription and its events. */
  public void drop(String id) {
    of("delete from subscription_event" + OF, id).executeUpdate();
    of("delete from subscription_state" + OF, id).executeUpdate();
  }

  /** The subscriptions that wait for one of some things, and have not been turned off. */
  public List<String> waitingFor(Collection<String> awaited) {
    return session
        .createNativeQuery(
            "select subscription_id from subscription_state where clinic = :clinic"
                + " and awaits in :awaited and status <> 'off' order by subscription_id",
            String.class)
        .addScalar("subscription_id", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameterList("awaited", awaited)
        .list();
  }

  /** Adds an event to a subscription's queue. */
  public void add(String subscriptionId, Event event) {
    of(
            "insert into subscription_event (clinic, subscription_id, event_id, event_number,"
                + " occurred_ms, focus_type, focus_id, focus_version, delivered) values (:clinic,"
                + " :id, :event, 0, :occurred, :type, :focus, :version, false)",
            subscriptionId)
        .setParameter("event", event.eventId())
        .setParameter("occurred", event.occurredMs())
        .setParameter("type", event.type())
        .setParameter("focus", event.id())
        .setParameter("version", event.version())
        .executeUpdate();
  }

  /**
   * Takes a subscription that has something to send, for a time during which nobody else takes it
   * or another one of the same endpoint.
   *
   * @param nowMs now
   * @param untilMs until when it is taken
   * @return empty when nothing is to be sent
   */
  public Optional<String> claim(long nowMs, long untilMs) {
    Optional<String> free =
        session
            .createNativeQuery(
                "select s.subscription_id from subscription_state s where s.clinic = :clinic"
                    + " and s.due_ms <= :now and s.lease_ms <= :now and (s.status = 'requested'"
                    + " or (s.status = 'active' and (s.ends_ms <= :now"
                    + " or (s.heartbeat_ms > 0 and s.sent_ms + s.heartbeat_ms <= :now)"
                    + " or exists (select 1 from subscription_event e where e.clinic = s.clinic"
                    + " and e.subscription_id = s.subscription_id and e.delivered = false))))"
                    + " and not exists (select 1 from subscription_state o"
                    + " where o.clinic = s.clinic and o.endpoint = s.endpoint"
                    + " and o.lease_ms > :now) order by s.due_ms, s.subscription_id limit 1"
                    + " for update skip locked",
                String.class)
            .addScalar("subscription_id", String.class)
            .setParameter("clinic", ActingClinic.current())
            .setParameter("now", nowMs)
            .uniqueResultOptional();
    free.ifPresent(
        id ->
            of("update subscription_state set lease_ms = :until" + OF, id)
                .setParameter("until", untilMs)
                .executeUpdate());
    return free;
  }

  /** Where the delivery of a subscription is; its row is held until the transaction ends. */
  public Optional<Standing> lock(String id) {
    return session
        .createNativeQuery(
            "select status, numbered, attempts, heartbeat_ms, ends_ms, sent_ms"
                + " from subscription_state"
                + OF
                + " for update",
            Object[].class)
        .addScalar("status", String.class)
        .addScalar("numbered", Long.class)
        .addScalar("attempts", Integer.class)
        .addScalar("heartbeat_ms", Long.class)
        .addScalar("ends_ms", Long.class)
        .addScalar("sent_ms", Long.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("id", id)
        .uniqueResultOptional()
        .map(
            row ->
                new Standing(
                    id,
                    (String) row[0],
                    (Long) row[1],
                    (Integer) row[2],
                    (Long) row[3],
                    (Long) row[4],
                    (Long) row[5]));
  }

  /**
   * Gives the events of a subscription that have none their numbers; its row must be held.
   *
   * @param standing the subscription
   * @return how many have a number now
   */
  public long number(Standing standing) {
    long last = standing.numbered();
    List<String> fresh =
        session
            .createNativeQuery(
                "select event_id from subscription_event"
                    + OF
                    + " and delivered = false and event_number = 0 order by event_id",
                String.class)
            .addScalar("event_id", String.class)
            .setParameter("clinic", ActingClinic.current())
            .setParameter("id", standing.id())
            .list();
    for (String event : fresh) {
      last++;
      of(
              "update subscription_event set event_number = :number"
                  + OF
                  + " and event_id = :event",
              standing.id())
          .setParameter("number", last)
          .setParameter("event", event)
          .executeUpdate();
    }
    if (!fresh.isEmpty()) {
      of("update subscription_state set numbered = :numbered" + OF, standing.id())
          .setParameter("numbered", last)
          .executeUpdate();
    }
    return last;
  }

  /**
   * The events that wait and have a number, in its order. What another transaction has added since
   * the last were numbered comes after these.
   */
  public List<Event> waiting(String id, int most) {
    return read(
        events(" and delivered = false and event_number > 0 order by event_number", id)
            .setMaxResults(most));
  }

  /** The events with a number of some, in their order. */
  public List<Event> between(String id, long first, long last, int most) {
    return read(
        events(" and event_number between :first and :last order by event_number", id)
            .setParameter("first", first)
            .setParameter("last", last)
            .setMaxResults(most));
  }

  private NativeQuery<Object[]> events(String condition, String id) {
    return session
        .createNativeQuery(
            "select event_id, event_number, occurred_ms, focus_type, focus_id, focus_version,"
                + " delivered from subscription_event"
                + OF
                + condition,
            Object[].class)
        .addScalar("event_id", String.class)
        .addScalar("event_number", Long.class)
        .addScalar("occurred_ms", Long.class)
        .addScalar("focus_type", String.class)
        .addScalar("focus_id", String.class)
        .addScalar("focus_version", Long.class)
        .addScalar("delivered", Boolean.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("id", id);
  }

  private static List<Event> read(NativeQuery<Object[]> events) {
    return events.list().stream()
        .map(
            row ->
                new Event(
                    (String) row[0],
                    (Long) row[1],
                    (Long) row[2],
                    (String) row[3],
                    (String) row[4],
                    (Long) row[5],
                    (Boolean) row[6]))
        .toList();
  }

  /** Remembers that events up to a number were taken. */
  public void delivered(String id, long upTo) {
    of(
            "update subscription_event set delivered = true"
                + OF
                + " and delivered = false and event_number between 1 and :last",
            id)
        .setParameter("last", upTo)
        .executeUpdate();
  }

  /** Puts events back into the queue; says how many. */
  public int again(String id, long first, long last) {
    return of(
            "update subscription_event set delivered = false"
                + OF
                + " and delivered = true and event_number between :first and :last",
            id)
        .setParameter("first", first)
        .setParameter("last", last)
        .executeUpdate();
  }

  /** Gives a subscription back after a delivery that went well. */
  public void succeeded(String id, String status, long nowMs) {
    of(
            "update subscription_state set status = :status, attempts = 0, lease_ms = 0,"
                + " due_ms = :now, sent_ms = :now"
                + OF,
            id)
        .setParameter("status", status)
        .setParameter("now", nowMs)
        .executeUpdate();
  }

  /** Gives a subscription back after a delivery that failed. */
  public void failed(String id, String status, int attempts, long dueMs) {
    of(
            "update subscription_state set status = :status, attempts = :attempts, lease_ms = 0,"
                + " due_ms = :due"
                + OF,
            id)
        .setParameter("status", status)
        .setParameter("attempts", attempts)
        .setParameter("due", dueMs)
        .executeUpdate();
  }

  /** Forgets events that were delivered and happened before a moment. */
  public void forget(long beforeMs) {
    session
        .createNativeMutationQuery(
            "delete from subscription_event where clinic = :clinic and occurred_ms < :before"
                + " and delivered = true")
        .setParameter("clinic", ActingClinic.current())
        .setParameter("before", beforeMs)
        .executeUpdate();
  }
}
