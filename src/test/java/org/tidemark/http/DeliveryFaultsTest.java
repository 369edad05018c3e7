package org.tidemark.http;

import static com.github.tomakehurst.wiremock.client.WireMock.aResponse;
import static com.github.tomakehurst.wiremock.client.WireMock.any;
import static com.github.tomakehurst.wiremock.client.WireMock.anyRequestedFor;
import static com.github.tomakehurst.wiremock.client.WireMock.anyUrl;
import static com.github.tomakehurst.wiremock.core.WireMockConfiguration.options;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.github.tomakehurst.wiremock.WireMockServer;
import com.github.tomakehurst.wiremock.client.ResponseDefinitionBuilder;
import com.github.tomakehurst.wiremock.http.Fault;
import com.github.tomakehurst.wiremock.stubbing.Scenario;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.util.ArrayList;
import java.util.List;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Subscription;
import org.hl7.fhir.r4.model.Subscription.SubscriptionStatus;
import org.hl7.fhir.r4.model.UnsignedIntType;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.EnumSource;
import org.junit.jupiter.params.provider.EnumSource.Mode;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.clinic.ActsForHome;
import org.tidemark.exchange.Notifier;

/**
 * Endpoints whose answers are broken, by WireMock: what was not answered wholly and in time was not
 * taken, and comes again before anything that follows it.
 */
@ExtendWith(ActsForHome.class)
@QuarkusTest
@TestProfile(SubscriptionCasesTest.Local.class)
class DeliveryFaultsTest {
  private static final String TIMEOUT =
      "http://hl7.org/fhir/uv/subscriptions-backport/StructureDefinition/backport-timeout";
  private static final String FAULTY = "faulty";

  @Inject Notifier notifier;

  private final WireMockServer endpoint =
      new WireMockServer(options().dynamicPort().bindAddress("127.0.0.1"));
  private PlanPerson person;
  private String subscription;

  @BeforeEach
  void subscribe() {
    endpoint.start();
    person = PlanPerson.here();
    Subscription wanted = new Subscription();
    wanted.setStatus(SubscriptionStatus.REQUESTED).setReason("A test");
    wanted.setCriteria("Observation?patient=" + person.subject);
    wanted
        .getChannel()
        .setType(Subscription.SubscriptionChannelType.RESTHOOK)
        .setEndpoint("http://127.0.0.1:" + endpoint.port() + "/hook")
        .setPayload("application/fhir+json")
        .addExtension(new Extension(TIMEOUT, new UnsignedIntType(1)));
    subscription = person.send(wanted).getIdElement().getIdPart();
    notifier.send();
    assertEquals(SubscriptionStatus.ACTIVE, read().getStatus());
  }

  @AfterEach
  void close() {
    PlanPerson.client().delete().resourceById("Subscription", subscription).execute();
    endpoint.stop();
  }

  private Subscription read() {
    return PlanPerson.client().read().resource(Subscription.class).withId(subscription).execute();
  }

  private String sent(int day) {
    Observation sent = person.send(person.painScore(PlanPerson.at(day, "18:00"), day));
    return "/hook/Observation/" + sent.getIdElement().getIdPart();
  }

  /** The first request is answered so, all others well. */
  private void firstAnswers(ResponseDefinitionBuilder answer) {
    endpoint.stubFor(any(anyUrl()).inScenario(FAULTY).willReturn(aResponse()));
    endpoint.stubFor(
        any(anyUrl())
            .inScenario(FAULTY)
            .whenScenarioStateIs(Scenario.STARTED)
            .willReturn(answer)
            .willSetStateTo("well"));
  }

  /** The latest is listed first. */
  private List<String> came() {
    List<String> came = new ArrayList<>();
    endpoint.getAllServeEvents().forEach(event -> came.add(0, event.getRequest().getUrl()));
    return came;
  }

  /** Which requests came when, and how each was answered. */
  private String served() {
    StringBuilder served = new StringBuilder();
    endpoint
        .getAllServeEvents()
        .forEach(
            event ->
                served
                    .append(event.getRequest().getLoggedDate().toInstant())
                    .append(' ')
                    .append(event.getResponse().getStatus())
                    .append(' ')
                    .append(event.getTiming())
                    .append('\n'));
    return served.toString();
  }

  /** Sends until so many requests have come. */
  private void delivers(int requests) throws InterruptedException {
    for (int round = 0; endpoint.findAll(anyRequestedFor(anyUrl())).size() < requests; round++) {
      assertTrue(round < 100, "came: " + came());
      notifier.send();
      Thread.sleep(20);
    }
  }

  private void comesAgainFirst() throws InterruptedException {
    String first = sent(1);
    String second = sent(2);
    delivers(3);
    assertEquals(List.of(first, first, second), came(), this::served);
    notifier.send();
    assertEquals(3, came().size(), "nothing more is to be sent");
    assertEquals(SubscriptionStatus.ACTIVE, read().getStatus());
  }

  /**
   * The connection ends without an answer, or the answer is no HTTP. WireMock's malformed chunk is
   * none here: to a client that asks for the connection's end it answers 200 and a body that ends
   * with it, which is whole (RFC 9112, 6.3).
   */
  @ParameterizedTest
  @EnumSource(value = Fault.class, mode = Mode.EXCLUDE, names = "MALFORMED_RESPONSE_CHUNK")
  void aBrokenAnswerIsNone(Fault fault) throws InterruptedException {
    firstAnswers(aResponse().withFault(fault));
    comesAgainFirst();
  }

  /** 200 at once, and a body that drips beyond the timeout of the subscription. */
  @Test
  void anAnswerThatDripsIsTooLate() throws InterruptedException {
    firstAnswers(aResponse().withBody("x".repeat(40)).withChunkedDribbleDelay(20, 4_000));
    comesAgainFirst();
  }

  /** What is announced does not all come; the connection stays open. */
  @Test
  void halfAnAnswerIsNone() throws InterruptedException {
    firstAnswers(aResponse().withHeader("Content-Length", "500").withBody("half"));
    comesAgainFirst();
  }

  /** No more than a megabyte is read of an answer. */
  @Test
  void anAnswerThatIsTooLongIsNone() throws InterruptedException {
    firstAnswers(aResponse().withBody("x".repeat(2 << 20)));
    comesAgainFirst();
  }

  /** Redirections are not followed, and are no success. */
  @ParameterizedTest
  @ValueSource(ints = {307, 429, 500, 502, 504})
  void whatIsNoSuccessIsTriedAgain(int status) throws InterruptedException {
    firstAnswers(
        aResponse()
            .withStatus(status)
            .withHeader("Location", "http://127.0.0.1:" + endpoint.port() + "/other"));
    comesAgainFirst();
  }
}
