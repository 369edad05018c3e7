package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.nio.file.Path;
import java.sql.Connection;
import java.sql.Statement;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.concurrent.CountDownLatch;
import java.util.concurrent.atomic.AtomicBoolean;
import org.hl7.fhir.r4.model.Subscription;
import org.hl7.fhir.r4.model.Subscription.SubscriptionStatus;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;
import org.tidemark.store.DurableH2Driver;

/**
 * The packaged service is killed (SIGKILL) when an endpoint has taken an event of which the service
 * has not heard yet, while many more wait: each arrives at least once, in the order in which the
 * records were acknowledged.
 */
class DeliveryKillIT {
  private static final int PORT = PlanPerson.PORT;
  private static final int WAITING = 20;
  private static final int SECONDS_FOR_ALL = 60;

  @TempDir Path folder;

  private Map<String, String> settings() {
    return Map.of(
        "TIDEMARK_DATA",
        folder.toString(),
        "TIDEMARK_PAPERS_EVERY",
        "off",
        "TIDEMARK_SUBSCRIPTIONS_ALLOWED_HOSTS",
        "127.0.0.1",
        "TIDEMARK_SUBSCRIPTIONS_EVERY",
        "0.2s");
  }

  @Test
  void whatWaitsOrWasNotHeardOfArrivesInItsOrder() throws Exception {
    PackagedService service = PackagedService.start(PORT, settings()).awaitReady();
    try (Receiver receiver = new Receiver()) {
      PlanPerson person = PlanPerson.here();
      String id = active(receiver, person);
      CountDownLatch allPosted = new CountDownLatch(1);
      AtomicBoolean killed = new AtomicBoolean();
      PackagedService first = service;
      receiver.answers(
          () -> {
            if (killed.compareAndSet(false, true)) {
              try {
                allPosted.await();
                first.kill();
              } catch (InterruptedException e) {
                Thread.currentThread().interrupt();
              }
            }
            return 200;
          });
      List<String> acknowledged = new ArrayList<>();
      for (int i = 0; i < WAITING; i++) {
        acknowledged.add(
            "/hook/Observation/"
                + person
                    .send(person.painScore(PlanPerson.at(i, "18:00"), i % 10))
                    .getIdElement()
                    .getIdPart());
      }
      allPosted.countDown();
      first.awaitEnd();
      await(receiver, acknowledged.get(0));
      assertEquals(acknowledged.subList(0, 1), arrived(receiver), "all the others wait");
      endLeases();
      service = PackagedService.start(PORT, settings()).awaitReady();
      await(receiver, acknowledged.get(WAITING - 1));
      List<String> arrived = arrived(receiver);
      assertEquals(arrived.get(0), arrived.get(1), "the first twice, as nobody heard that it came");
      assertEquals(acknowledged, inOrder(arrived));
      assertEquals(SubscriptionStatus.ACTIVE, read(id).getStatus());
    } finally {
      service.stop();
    }
  }

  /** R4's own rest-hook with the record, so that what arrives is told by what was acknowledged. */
  private static String active(Receiver receiver, PlanPerson person) throws InterruptedException {
    Subscription subscription = new Subscription();
    subscription.setStatus(SubscriptionStatus.REQUESTED).setReason("A test");
    subscription.setCriteria("Observation?patient=" + person.subject);
    subscription
        .getChannel()
        .setType(Subscription.SubscriptionChannelType.RESTHOOK)
        .setEndpoint(receiver.address())
        .setPayload("application/fhir+json");
    String id = person.send(subscription).getIdElement().getIdPart();
    for (int tenth = 0; read(id).getStatus() != SubscriptionStatus.ACTIVE; tenth++) {
      assertTrue(tenth < SECONDS_FOR_ALL * 10, "not active");
      Thread.sleep(100);
    }
    return id;
  }

  private static void await(Receiver receiver, String path) throws InterruptedException {
    for (int tenth = 0; !arrived(receiver).contains(path); tenth++) {
      assertTrue(tenth < SECONDS_FOR_ALL * 10, "arrived: " + arrived(receiver).size());
      Thread.sleep(100);
    }
  }

  /** One that comes again before the next does is the same: each comes at least once. */
  private static List<String> inOrder(List<String> arrived) {
    List<String> each = new ArrayList<>();
    for (String path : arrived) {
      if (each.isEmpty() || !each.get(each.size() - 1).equals(path)) {
        each.add(path);
      }
    }
    return each;
  }

  private static Subscription read(String id) {
    return PlanPerson.client().read().resource(Subscription.class).withId(id).execute();
  }

  private static List<String> arrived(Receiver receiver) {
    return receiver.got().stream().map(Receiver.Got::path).toList();
  }

  /** As if the minute had passed for which the sender that was killed had the subscription. */
  private void endLeases() throws Exception {
    java.util.Properties user = new java.util.Properties();
    user.setProperty("user", "tidemark");
    try (Connection connection =
            new DurableH2Driver()
                .connect("jdbc:h2:%s:%s/tidemark".formatted(DurableH2Driver.SCHEME, folder), user);
        Statement statement = connection.createStatement()) {
      assertEquals(1, statement.executeUpdate("update subscription_state set lease_ms = 1"));
    }
  }
}
