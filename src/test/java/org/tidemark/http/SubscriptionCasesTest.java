package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.hamcrest.Matchers.startsWith;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.util.List;
import java.util.Map;
import java.util.concurrent.CountDownLatch;
import java.util.concurrent.TimeUnit;
import java.util.concurrent.atomic.AtomicInteger;
import org.hibernate.StatelessSession;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.Subscription;
import org.hl7.fhir.r4.model.Subscription.SubscriptionStatus;
import org.hl7.fhir.r4.model.Task;
import org.hl7.fhir.r4.model.UnsignedIntType;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.application.Notifications;
import org.tidemark.clinic.ActsForHome;
import org.tidemark.exchange.Notifier;

/**
 * Subscriptions by topic ("Subscriptions R5 Backport", R4 form) and by R4's own criteria. The names
 * of the tests begin with the cases of the design that they show.
 */
@ExtendWith(ActsForHome.class)
@QuarkusTest
@TestProfile(SubscriptionCasesTest.Local.class)
class SubscriptionCasesTest {
  private static final String GUIDE =
      "http://hl7.org/fhir/uv/subscriptions-backport/StructureDefinition/backport-";
  private static final String TOPIC = "https://tidemark.example/fhir/SubscriptionTopic/";

  /** Endpoints of the tests are on this machine. */
  public static final class Local implements QuarkusTestProfile {
    @Override
    public Map<String, String> getConfigOverrides() {
      return Map.of(
          "tidemark.subscriptions.allowed-hosts", "127.0.0.1",
          "tidemark.subscriptions.pause", "1ms");
    }
  }

  @Inject Notifier notifier;
  @Inject Notifications notifications;
  @Inject StatelessSession session;

  private Receiver receiver;

  @BeforeEach
  void listen() {
    receiver = new Receiver();
  }

  @AfterEach
  void close() {
    PlanPerson.client()
        .search()
        .byUrl(PlanPerson.BASE + "/Subscription?_count=500")
        .returnBundle(Bundle.class)
        .execute()
        .getEntry()
        .forEach(
            e -> PlanPerson.client().delete().resource((Subscription) e.getResource()).execute());
    receiver.close();
  }

  private Subscription byTopic(String topic, String content, String filter) {
    Subscription subscription = new Subscription();
    subscription.setStatus(SubscriptionStatus.REQUESTED).setReason("A test");
    subscription.setCriteria(TOPIC + topic);
    if (!filter.isEmpty()) {
      subscription
          .getCriteriaElement()
          .addExtension(new Extension(GUIDE + "filter-criteria", new StringType(filter)));
    }
    subscription
        .getChannel()
        .setType(Subscription.SubscriptionChannelType.RESTHOOK)
        .setEndpoint(receiver.address())
        .setPayload("application/fhir+json")
        .addHeader("X-Token: secret");
    subscription
        .getChannel()
        .getPayloadElement()
        .addExtension(new Extension(GUIDE + "payload-content", new CodeType(content)));
    return subscription;
  }

  private Subscription bySearch(String criteria, boolean payload) {
    Subscription subscription = new Subscription();
    subscription.setStatus(SubscriptionStatus.REQUESTED).setReason("A test");
    subscription.setCriteria(criteria);
    subscription
        .getChannel()
        .setType(Subscription.SubscriptionChannelType.RESTHOOK)
        .setEndpoint(receiver.address())
        .setPayload(payload ? "application/fhir+json" : null);
    return subscription;
  }

  private static String created(Subscription subscription) {
    return ((Subscription)
            PlanPerson.client().create().resource(subscription).execute().getResource())
        .getIdElement()
        .getIdPart();
  }

  /** A subscription that is active. */
  private String active(Subscription subscription) {
    String id = created(subscription);
    notifier.send();
    assertEquals(SubscriptionStatus.ACTIVE, read(id).getStatus());
    return id;
  }

  private static Subscription read(String id) {
    return PlanPerson.client().read().resource(Subscription.class).withId(id).execute();
  }

  private static String filter(PlanPerson person) {
    return "CarePlan?patient=" + person.subject;
  }

  private static Parameters status(String id) {
    return (Parameters)
        PlanPerson.CONTEXT
            .newJsonParser()
            .parseResource(
                Bundle.class,
                given()
                    .get("/fhir/Subscription/" + id + "/$status")
                    .then()
                    .statusCode(200)
                    .extract()
                    .asString())
            .getEntryFirstRep()
            .getResource();
  }

  private static List<String> numbers(String id, String operation) {
    Bundle answer =
        PlanPerson.CONTEXT
            .newJsonParser()
            .parseResource(
                Bundle.class,
                given()
                    .get("/fhir/Subscription/" + id + "/" + operation)
                    .then()
                    .statusCode(200)
                    .extract()
                    .asString());
    return Receiver.events((Parameters) answer.getEntryFirstRep().getResource()).stream()
        .map(event -> Receiver.part(event, "event-number"))
        .toList();
  }

  @Test
  void aHandshakeMakesASubscriptionActiveAndEventsAreNumbered() {
    PlanPerson person = PlanPerson.enrolled();
    String id = active(byTopic("plan-changed", "id-only", filter(person)));
    assertEquals("handshake", receiver.last().type());
    assertEquals("secret", receiver.last().token());
    person.send(person.session(1));
    person.send(person.morning(1));
    notifier.send();
    assertEquals("event-notification", receiver.last().type());
    assertEquals(
        "plan-changed",
        Receiver.value(receiver.last().status(), "topic").substring(TOPIC.length()));
    List<String> numbers = receiver.numbers();
    assertEquals(
        java.util.stream.IntStream.rangeClosed(1, numbers.size())
            .mapToObj(Integer::toString)
            .toList(),
        numbers);
    assertEquals(
        Integer.toString(numbers.size()),
        Receiver.value(status(id), "events-since-subscription-start"));
  }

  @Test
  void case77EndpointDownThreeTriesThenUp() throws Exception {
    PlanPerson person = PlanPerson.enrolled();
    String id = active(byTopic("warning-raised", "id-only", ""));
    receiver.answers(() -> 503);
    person.send(person.warning(1));
    for (int i = 0; i < 3; i++) {
      Thread.sleep(20);
      notifier.send();
    }
    assertEquals(SubscriptionStatus.ERROR, read(id).getStatus());
    assertEquals("The endpoint answered 503.", read(id).getError());
    int tries = receiver.got().size();
    receiver.answers(() -> 200);
    PlanPerson other = PlanPerson.enrolled();
    other.send(other.warning(1));
    notifier.send();
    assertEquals(tries, receiver.got().size(), "it does not become active by itself");
    assertEquals("2", Receiver.value(status(id), "events-since-subscription-start"));
    assertEquals("error", Receiver.value(status(id), "status"));
    assertEquals(List.of("1", "2"), numbers(id, "$events?eventsSinceNumber=1"));
    assertEquals(List.of("2"), numbers(id, "$events?eventsSinceNumber=2&eventsUntilNumber=2"));
    assertEquals(List.of("1", "2"), numbers(id, "$undelivered"));
    PlanPerson.client()
        .update()
        .resource(read(id).setStatus(SubscriptionStatus.REQUESTED))
        .execute();
    notifier.send();
    assertEquals(SubscriptionStatus.ACTIVE, read(id).getStatus());
    assertEquals(List.of("1", "2"), receiver.last().numbers(), "nothing was lost");
    assertEquals(List.of(), numbers(id, "$undelivered"));
  }

  @Test
  void case78AHandshakeThatFailsIsAnError() {
    receiver.answers(() -> 404);
    String id = created(byTopic("goal-reached", "empty", ""));
    notifier.send();
    assertEquals(SubscriptionStatus.ERROR, read(id).getStatus());
    notifier.send();
    assertEquals(1, receiver.got().size());
  }

  @Test
  void case78AnUnknownTopicIsRefused() {
    PlanPerson.post(byTopic("weather", "empty", ""))
        .statusCode(422)
        .body("issue[0].expression", hasItem("Subscription.criteria"));
  }

  @ParameterizedTest
  @ValueSource(
      strings = {
        "http://receiver.example/hook",
        "https://localhost/hook",
        "https://10.1.2.3/hook",
        "https://192.168.0.9/hook",
        "https://169.254.169.254/latest",
        "https://100.64.0.1/hook",
        "https://[::1]/hook",
        "https://[fd00::1]/hook",
        "https://[::ffff:10.0.0.1]/hook",
        "https://user@127.0.0.1/hook",
        "https://2130706433/hook",
        "ftp://127.0.0.1/hook",
        "hook"
      })
  void case78EndpointsInsideAreRefused(String endpoint) {
    Subscription subscription = byTopic("plan-changed", "empty", "");
    subscription.getChannel().setEndpoint(endpoint);
    PlanPerson.post(subscription)
        .statusCode(422)
        .body("issue[0].expression", hasItem("Subscription.channel.endpoint"));
  }

  @Test
  void whatIsNotOfferedIsRefusedByItsElement() {
    refused(
        byTopic("plan-changed", "everything", ""),
        "Subscription.channel.payload.extension('" + GUIDE + "payload-content')");
    refused(
        byTopic("plan-changed", "empty", "CarePlan?colour=blue"),
        "Subscription.criteria.extension('" + GUIDE + "filter-criteria')");
    refused(bySearch("Observation?colour=blue", false), "Subscription.criteria");
    refused(bySearch("Encounter?status=planned", false), "Subscription.criteria");
    Subscription mail = byTopic("plan-changed", "empty", "");
    mail.getChannel().setType(Subscription.SubscriptionChannelType.EMAIL);
    refused(mail, "Subscription.channel.type");
    Subscription slow = byTopic("plan-changed", "empty", "");
    slow.getChannel().addExtension(new Extension(GUIDE + "timeout", new UnsignedIntType(600)));
    refused(slow, "Subscription.channel.extension('" + GUIDE + "timeout')");
  }

  private static void refused(Subscription subscription, String expression) {
    PlanPerson.post(subscription).statusCode(422).body("issue[0].expression", hasItem(expression));
  }

  /** A sender that ends before it has heard: what it had is sent again, under the same number. */
  @Test
  void case79ARestartDuringDeliveryLosesNothing() {
    PlanPerson person = PlanPerson.enrolled();
    String id = active(byTopic("warning-raised", "id-only", ""));
    person.send(person.warning(1));
    assertEquals(1, notifications.next().orElseThrow().upTo());
    notifier.send();
    assertEquals(1, receiver.got().size(), "another sender waits for the lease to end");
    QuarkusTransaction.requiringNew()
        .run(
            () ->
                session
                    .createNativeMutationQuery(
                        "update subscription_state set lease_ms = 1 where clinic = 'default'")
                    .executeUpdate());
    notifier.send();
    assertEquals(List.of("1"), receiver.numbers());
    assertEquals("1", Receiver.value(status(id), "events-since-subscription-start"));
  }

  @Test
  void case80OneUpdateIsOneEvent() {
    PlanPerson person = PlanPerson.enrolled();
    String one = active(byTopic("plan-changed", "id-only", filter(person)));
    String other =
        active(
            byTopic(
                "plan-changed",
                "empty",
                "CarePlan?plan=" + person.plan().getIdElement().getIdPart()));
    CarePlan plan = person.plan();
    plan.setStatus(CarePlan.CarePlanStatus.ONHOLD);
    person.amend(plan);
    for (String id : List.of(one, other)) {
      assertEquals("1", Receiver.value(status(id), "events-since-subscription-start"));
    }
  }

  @Test
  void case81EmptyAndIdOnlyTellNoContent() {
    PlanPerson person = PlanPerson.enrolled();
    for (String content : List.of("empty", "id-only", "full-resource")) {
      String id = active(byTopic("plan-changed", content, filter(person)));
      CarePlan plan = person.plan();
      plan.setStatus(
          plan.getStatus() == CarePlan.CarePlanStatus.ONHOLD
              ? CarePlan.CarePlanStatus.ACTIVE
              : CarePlan.CarePlanStatus.ONHOLD);
      person.amend(plan);
      notifier.send();
      Receiver.Got got = receiver.last();
      String planId = plan.getIdElement().getIdPart();
      assertEquals(content.equals("full-resource"), got.body().contains(person.subject));
      assertEquals(!content.equals("empty"), got.body().contains(planId));
      assertEquals(
          content.equals("full-resource"),
          got.bundle().getEntry().stream().anyMatch(e -> e.getResource() instanceof CarePlan));
      PlanPerson.client().delete().resourceById("Subscription", id).execute();
    }
  }

  @Test
  void eachTopicTellsOfItsOwn() {
    PlanPerson person = PlanPerson.enrolled();
    PlanPerson stranger = PlanPerson.enrolled();
    String signOff =
        active(byTopic("sign-off-waiting", "id-only", "Task?patient=" + person.subject));
    String warning =
        active(
            byTopic(
                "warning-raised",
                "id-only",
                "DetectedIssue?plan=CarePlan/" + person.plan().getIdElement().getIdPart()));
    String goal = active(byTopic("goal-reached", "full-resource", ""));
    person.send(person.range(1, 150));
    for (int day = 1; person.open("approve").isEmpty() && day < 60; day++) {
      person.send(person.session(day));
      person.send(person.morning(day));
    }
    person.send(person.warning(61));
    stranger.send(stranger.warning(1));
    assertFalse(person.all(Task.class).isEmpty());
    notifier.send();
    assertTrue(
        Integer.parseInt(Receiver.value(status(signOff), "events-since-subscription-start")) >= 1);
    assertEquals("1", Receiver.value(status(warning), "events-since-subscription-start"));
    assertTrue(
        Integer.parseInt(Receiver.value(status(goal), "events-since-subscription-start")) >= 1);
  }

  /** R4, Subscription: a rest-hook without payload is a POST; with one, the record as an update. */
  @Test
  void bySearchARestHookIsEmptyOrTheRecord() {
    PlanPerson person = PlanPerson.enrolled();
    String id =
        active(
            bySearch("Observation?patient=" + person.subject + "&value-quantity=gt120||deg", true));
    active(bySearch("Observation?patient=" + person.subject + "&code=72514-3", false));
    assertEquals(List.of(), receiver.got(), "there is no handshake");
    Observation little = person.send(person.range(1, 100));
    Observation much = person.send(person.range(2, 131));
    person.send(person.painScore(PlanPerson.at(3, "18:00"), 2));
    for (int i = 0; i < 3; i++) {
      notifier.send();
    }
    assertEquals(2, receiver.got().size());
    Receiver.Got put =
        receiver.got().stream().filter(g -> g.method().equals("PUT")).findFirst().orElseThrow();
    assertEquals("/hook/Observation/" + much.getIdElement().getIdPart(), put.path());
    assertTrue(put.body().contains("131"));
    Receiver.Got post =
        receiver.got().stream().filter(g -> g.method().equals("POST")).findFirst().orElseThrow();
    assertEquals("", post.body());
    assertEquals(List.of("1"), numbers(id, "$events"));
    assertFalse(put.path().contains(little.getIdElement().getIdPart()));
  }

  @Test
  void anEndpointThatHangsDelaysNobodyElse() throws Exception {
    PlanPerson person = PlanPerson.enrolled();
    CountDownLatch hangs = new CountDownLatch(1);
    CountDownLatch free = new CountDownLatch(1);
    active(byTopic("warning-raised", "empty", ""));
    receiver.answers(
        () -> {
          hangs.countDown();
          try {
            free.await(8, TimeUnit.SECONDS);
          } catch (InterruptedException e) {
            Thread.currentThread().interrupt();
          }
          return 200;
        });
    try (Receiver quick = new Receiver()) {
      Subscription subscription = byTopic("warning-raised", "empty", "");
      subscription.getChannel().setEndpoint(quick.address());
      active(subscription);
      person.send(person.warning(1));
      Thread stuck = new Thread(notifier::send);
      stuck.start();
      assertTrue(hangs.await(5, TimeUnit.SECONDS) || quick.got().size() == 2);
      notifier.send();
      assertEquals(List.of("1"), quick.numbers());
      free.countDown();
      stuck.join();
    }
    assertEquals(List.of("1"), receiver.numbers());
  }

  @Test
  void anEndpointThatIsTooSlowIsTriedAgain() throws Exception {
    PlanPerson person = PlanPerson.enrolled();
    Subscription subscription = byTopic("warning-raised", "empty", "");
    subscription
        .getChannel()
        .addExtension(new Extension(GUIDE + "timeout", new UnsignedIntType(1)));
    String id = active(subscription);
    AtomicInteger asked = new AtomicInteger();
    receiver.answers(
        () -> {
          try {
            Thread.sleep(asked.getAndIncrement() == 0 ? 1500 : 0);
          } catch (InterruptedException e) {
            Thread.currentThread().interrupt();
          }
          return 200;
        });
    person.send(person.warning(1));
    notifier.send();
    Thread.sleep(1000);
    notifier.send();
    assertEquals(List.of("1", "1"), receiver.numbers(), "at least once, under one number");
    assertEquals(SubscriptionStatus.ACTIVE, read(id).getStatus());
    given()
        .contentType(Fhir.JSON)
        .body("{\"resourceType\":\"Parameters\"}")
        .post("/fhir/Subscription/" + id + "/$resend")
        .then()
        .statusCode(200)
        .body("parameter[0].valueInteger", equalTo(1));
    notifier.send();
    assertEquals(List.of("1", "1", "1"), receiver.numbers());
  }

  @Test
  void aHeartbeatIsSentWhenNothingElseIs() {
    Subscription subscription = byTopic("goal-reached", "empty", "");
    subscription
        .getChannel()
        .addExtension(new Extension(GUIDE + "heartbeat-period", new UnsignedIntType(60)));
    String id = active(subscription);
    notifier.send();
    assertEquals(1, receiver.got().size());
    QuarkusTransaction.requiringNew()
        .run(
            () ->
                session
                    .createNativeMutationQuery(
                        "update subscription_state set sent_ms = sent_ms - 60000 where clinic = 'default'")
                    .executeUpdate());
    notifier.send();
    assertEquals("heartbeat", receiver.last().type());
    assertEquals("0", Receiver.value(status(id), "events-since-subscription-start"));
  }

  @Test
  void aReportThatIsRefusedIsNoEvent() {
    PlanPerson person = PlanPerson.enrolled();
    String id = active(bySearch("Observation?patient=" + person.subject, false));
    Observation wrong = person.painScore(PlanPerson.at(1, "18:00"), 11);
    PlanPerson.post(wrong).statusCode(422);
    assertEquals("0", Receiver.value(status(id), "events-since-subscription-start"));
    person.send(person.painScore(PlanPerson.at(1, "18:00"), 1));
    assertEquals("1", Receiver.value(status(id), "events-since-subscription-start"));
  }

  @Test
  void theStatementNamesTheTopics() {
    given()
        .get("/fhir/metadata")
        .then()
        .body(
            "rest[0].resource.find { it.type == 'Subscription' }.extension.valueCanonical",
            hasItem(startsWith(TOPIC)));
  }
}
