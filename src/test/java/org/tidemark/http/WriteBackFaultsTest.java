package org.tidemark.http;

import static com.github.tomakehurst.wiremock.client.WireMock.aResponse;
import static com.github.tomakehurst.wiremock.client.WireMock.any;
import static com.github.tomakehurst.wiremock.client.WireMock.anyRequestedFor;
import static com.github.tomakehurst.wiremock.client.WireMock.anyUrl;
import static com.github.tomakehurst.wiremock.client.WireMock.containing;
import static com.github.tomakehurst.wiremock.client.WireMock.get;
import static com.github.tomakehurst.wiremock.client.WireMock.matching;
import static com.github.tomakehurst.wiremock.client.WireMock.post;
import static com.github.tomakehurst.wiremock.client.WireMock.urlPathEqualTo;
import static com.github.tomakehurst.wiremock.client.WireMock.urlPathMatching;
import static com.github.tomakehurst.wiremock.core.WireMockConfiguration.options;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.github.tomakehurst.wiremock.WireMockServer;
import com.github.tomakehurst.wiremock.extension.ResponseTransformerV2;
import com.github.tomakehurst.wiremock.http.Fault;
import com.github.tomakehurst.wiremock.http.HttpHeader;
import com.github.tomakehurst.wiremock.http.HttpHeaders;
import com.github.tomakehurst.wiremock.http.Request;
import com.github.tomakehurst.wiremock.http.RequestMethod;
import com.github.tomakehurst.wiremock.http.Response;
import com.github.tomakehurst.wiremock.stubbing.ServeEvent;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Arrays;
import java.util.List;
import java.util.Map;
import java.util.UUID;
import java.util.concurrent.atomic.AtomicInteger;
import java.util.function.BiFunction;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CapabilityStatement;
import org.hl7.fhir.r4.model.CapabilityStatement.CapabilityStatementRestComponent;
import org.hl7.fhir.r4.model.CapabilityStatement.RestfulCapabilityMode;
import org.hl7.fhir.r4.model.CapabilityStatement.SystemRestfulInteraction;
import org.hl7.fhir.r4.model.CapabilityStatement.TypeRestfulInteraction;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Parameters.ParametersParameterComponent;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Provenance;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.jose4j.jwk.EcJwkGenerator;
import org.jose4j.jwk.JsonWebKey.OutputControlLevel;
import org.jose4j.jwk.PublicJsonWebKey;
import org.jose4j.keys.EllipticCurves;
import org.jose4j.lang.JoseException;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.clinic.ActsForHome;
import org.tidemark.demo.PlainRecordSystem;
import org.tidemark.recordsystem.WriteBack;

/**
 * HAPI's own server behind WireMock, which spoils answers when the work is done, or says no instead
 * of it: what is there is never doubled, never written over, and all is there in the end.
 */
@ExtendWith(ActsForHome.class)
@QuarkusTest
@TestProfile(WriteBackFaultsTest.Misbehaving.class)
class WriteBackFaultsTest {
  private static final String NATIONAL = "https://numbers.example/person";
  private static final int PATIENCE_MS = 3_000;

  /** A record system on this machine that asks for tokens, and a key made for it. */
  public static final class Misbehaving implements QuarkusTestProfile {
    @Override
    public Map<String, String> getConfigOverrides() {
      String at = "http://127.0.0.1:" + port();
      return Map.of(
          "tidemark.subscriptions.allowed-hosts", "127.0.0.1",
          "tidemark.record-system.base-url", at + "/fhir",
          "tidemark.record-system.client-id", "tidemark-at-the-harbour",
          "tidemark.record-system.token-endpoint", at + "/token",
          "tidemark.record-system.key", key(),
          "tidemark.record-system.patience", PATIENCE_MS + "ms",
          "tidemark.record-system.write-back", "true",
          "tidemark.record-system.write-back.every", "off",
          "tidemark.record-system.write-back.pause", "100ms");
    }

    /** The same in each class loader of the tests, as is the key. */
    static int port() {
      String name = "tidemark.tests.misbehaves";
      if (System.getProperty(name) == null) {
        System.setProperty(name, Integer.toString(PackagedService.freePort()));
      }
      return Integer.getInteger(name);
    }

    private static String key() {
      String name = "tidemark.tests.written-to-key";
      try {
        if (System.getProperty(name) == null) {
          PublicJsonWebKey made = EcJwkGenerator.generateJwk(EllipticCurves.P384);
          made.setKeyId("k1");
          Path file = Files.createTempFile("written-to", ".json");
          Files.writeString(file, made.toJson(OutputControlLevel.INCLUDE_PRIVATE));
          System.setProperty(name, file.toString());
        }
        return System.getProperty(name);
      } catch (IOException e) {
        throw new UncheckedIOException(e);
      } catch (JoseException e) {
        throw new IllegalStateException(e);
      }
    }
  }

  /** Changes answers of the record system on their way. */
  private static final class Spoiler implements ResponseTransformerV2 {
    private volatile BiFunction<Request, Response, Response> how = (request, answer) -> answer;

    @Override
    public Response transform(Response answer, ServeEvent event) {
      return how.apply(event.getRequest(), answer);
    }

    @Override
    public String getName() {
      return "spoiler";
    }

    @Override
    public boolean applyGlobally() {
      return false;
    }
  }

  /** How an answer is lost when the work is done. */
  enum Loss {
    NOTHING_COMES(Fault.EMPTY_RESPONSE),
    NO_HTTP(Fault.RANDOM_DATA_THEN_CLOSE),
    RUBBISH_AFTER_200(Fault.MALFORMED_RESPONSE_CHUNK),
    RESET(Fault.CONNECTION_RESET_BY_PEER),
    HALF(null),
    BAD_GATEWAY(null),
    LATE(null);

    private final Fault fault;

    Loss(Fault fault) {
      this.fault = fault;
    }

    Response of(Response answer) {
      Response.Builder changed = Response.Builder.like(answer).but();
      byte[] body = answer.getBody();
      return switch (this) {
        case HALF ->
            changed
                .headers(
                    new HttpHeaders(
                        new HttpHeader("Content-Type", "application/fhir+json"),
                        new HttpHeader("Content-Length", Integer.toString(body.length + 1))))
                .body(Arrays.copyOf(body, body.length / 2))
                .build();
        case BAD_GATEWAY -> changed.status(502).body("").build();
        case LATE -> changed.incrementInitialDelay(PATIENCE_MS + 500).build();
        default -> changed.fault(fault).build();
      };
    }
  }

  @Inject WriteBack writeBack;
  private final Spoiler spoiler = new Spoiler();
  private final WireMockServer front =
      new WireMockServer(
          options().port(Misbehaving.port()).bindAddress("127.0.0.1").extensions(spoiler));
  private PlainRecordSystem there;
  private PlanPerson person;
  private Identifier number;

  @BeforeEach
  void begin() {
    front.start();
    number = new Identifier().setSystem(NATIONAL).setValue(UUID.randomUUID().toString());
    start(true);
    person = PlanPerson.enrolled();
    Patient patient =
        PlanPerson.client().read().resource(Patient.class).withId(person.subject).execute();
    PlanPerson.client().update().resource(patient.addIdentifier(number)).execute();
  }

  private void start(boolean transactions) {
    if (there != null) {
      there.close();
    }
    there = new PlainRecordSystem(PackagedService.freePort(), transactions);
    there.put(new Patient().addIdentifier(number).setId("theirs"));
    front.resetAll();
    front.stubFor(
        any(anyUrl())
            .atPriority(9)
            .willReturn(
                aResponse()
                    .proxiedFrom(there.base().replaceFirst("/fhir$", ""))
                    .withTransformers("spoiler")));
    // HAPI's own is of every type, and takes its time.
    front.stubFor(
        get(urlPathEqualTo("/fhir/metadata"))
            .atPriority(8)
            .willReturn(aResponse().withBody(PlanPerson.json(statement(transactions)))));
    front.stubFor(
        post("/token")
            .atPriority(8)
            .willReturn(
                aResponse()
                    .withHeader("Content-Type", "application/json")
                    .withBody(
                        "{\"access_token\":\"one\",\"token_type\":\"bearer\",\"expires_in\":300}")));
  }

  private static CapabilityStatement statement(boolean transactions) {
    CapabilityStatement statement = new CapabilityStatement();
    CapabilityStatementRestComponent rest =
        statement.addRest().setMode(RestfulCapabilityMode.SERVER);
    if (transactions) {
      rest.addInteraction().setCode(SystemRestfulInteraction.TRANSACTION);
    }
    Stream.of("CarePlan", "Goal", "ServiceRequest", "Provenance")
        .forEach(
            type ->
                rest.addResource()
                    .setType(type)
                    .addInteraction()
                    .setCode(TypeRestfulInteraction.CREATE));
    return statement;
  }

  @AfterEach
  void end() {
    front.stop();
    there.close();
  }

  private <T extends Resource> List<T> there(Class<T> type) {
    return there
        .all(type.getSimpleName())
        .map(type::cast)
        .filter(record -> record.getMeta().hasSource())
        .filter(record -> record.getMeta().getSource().startsWith(PlanPerson.BASE))
        .toList();
  }

  private CarePlan planThere() {
    List<CarePlan> plans = there(CarePlan.class);
    assertEquals(1, plans.size());
    return plans.get(0);
  }

  private Parameters status() {
    return PlanPerson.client()
        .operation()
        .onServer()
        .named("$write-back-status")
        .withNoParameters(Parameters.class)
        .execute();
  }

  private List<ParametersParameterComponent> told(String name) {
    return status().getParameter().stream().filter(one -> one.getName().equals(name)).toList();
  }

  /** Why this person's plan waits; empty when it does not. */
  private String problem() {
    return waiting().stream().map(one -> part(one, "problem")).findFirst().orElse("");
  }

  /** This person's plan; those of other tests wait for other record systems. */
  private List<ParametersParameterComponent> waiting() {
    return told("waiting").stream()
        .filter(one -> part(one, "plan").equals("CarePlan/" + planId()))
        .toList();
  }

  /** Those that this record system has; every test has one of its own. */
  private List<String> conflicts() {
    return told("conflict").stream()
        .map(one -> part(one, "there"))
        .map(address -> address.replaceFirst(".*/fhir/", ""))
        .filter(
            reference ->
                there
                    .all(reference.split("/")[0])
                    .map(Resource.class::cast)
                    .anyMatch(
                        one -> one.getIdElement().getIdPart().equals(reference.split("/")[1])))
        .toList();
  }

  private static String part(ParametersParameterComponent told, String name) {
    return told.getPart().stream()
        .filter(one -> one.getName().equals(name))
        .map(ParametersParameterComponent::getValue)
        .map(
            value ->
                value instanceof Reference reference
                    ? reference.getReference()
                    : value.primitiveValue())
        .findFirst()
        .orElse("");
  }

  private String planId() {
    return person.plan().getIdElement().getIdPart();
  }

  /** Lets the service try the plan, after the pause that follows a failure. */
  private void tries() throws InterruptedException {
    Thread.sleep(150);
    Parameters asked = new Parameters();
    asked.addParameter().setName("plan").setValue(new Reference("CarePlan/" + planId()));
    PlanPerson.client().operation().onServer().named("$write-back").withParameters(asked).execute();
    writeBack.write();
  }

  private void triesUntilAllIsThere() throws InterruptedException {
    int most = 40;
    do {
      assertTrue(--most > 0, () -> PlanPerson.json(status()));
      tries();
    } while (!waiting().isEmpty());
    assertEquals(List.of(), conflicts());
  }

  private void requireOnce() {
    assertEquals(person.plan().getMeta().getVersionId(), versionOf(planThere()));
    assertEquals(person.plan().getGoal().size(), there(Goal.class).size());
    List<ServiceRequest> orders = there(ServiceRequest.class);
    assertEquals(
        person.inForce().size(),
        orders.stream()
            .filter(order -> order.getStatus() == ServiceRequest.ServiceRequestStatus.ACTIVE)
            .count());
    requireDistinct(orders);
    requireDistinct(there(Provenance.class));
  }

  private static void requireDistinct(List<? extends Resource> records) {
    assertFalse(records.isEmpty());
    assertEquals(
        records.size(),
        records.stream().map(WriteBackFaultsTest::origin).distinct().count(),
        "each is there once");
  }

  private static String origin(Resource record) {
    return record.getMeta().getSource().replaceFirst("/_history/.*", "");
  }

  private static String versionOf(Resource record) {
    return record.getMeta().getSource().replaceFirst(".*/_history/", "").replaceFirst("#.*", "");
  }

  private void loses(Loss loss, int answers) {
    AtomicInteger left = new AtomicInteger(answers);
    spoiler.how =
        (request, answer) ->
            !request.getMethod().equals(RequestMethod.GET) && left.getAndDecrement() > 0
                ? loss.of(answer)
                : answer;
  }

  @ParameterizedTest
  @CsvSource({
    "NOTHING_COMES, true",
    "NO_HTTP, false",
    "RUBBISH_AFTER_200, true",
    "RESET, false",
    "HALF, true",
    "HALF, false",
    "BAD_GATEWAY, false",
    "LATE, true"
  })
  void whatIsDoneWithoutAnAnswerIsNotDoneTwice(Loss loss, boolean transactions) throws Exception {
    start(transactions);
    loses(loss, 2);
    tries();
    assertFalse(problem().isEmpty(), "it was told that an answer was lost");
    assertFalse(there(Goal.class).isEmpty(), "the work was done");
    triesUntilAllIsThere();
    requireOnce();
    String plan = planThere().getIdElement().getIdPart();
    person.settled(1, 3);
    loses(loss, 2);
    tries();
    triesUntilAllIsThere();
    requireOnce();
    assertEquals(plan, planThere().getIdElement().getIdPart());
  }

  /** Nothing is done, and that is said. */
  @ParameterizedTest
  @CsvSource({
    "500, The record system answered 500.",
    "503, The record system answered 503.",
    "429, The record system answered 429.",
    "403, The record system answered 403 to the writing of a Bundle.",
    "422, The record system answered 422 to the writing of a Bundle."
  })
  void aRefusalIsToldAndTriedAgain(int answered, String told) throws Exception {
    var refusal =
        front.stubFor(
            post(urlPathMatching("/fhir/?"))
                .atPriority(1)
                .willReturn(aResponse().withStatus(answered)));
    tries();
    tries();
    assertEquals(told, problem());
    ParametersParameterComponent waiting = waiting().get(0);
    assertEquals("2", part(waiting, "failures"));
    assertFalse(part(waiting, "next").isEmpty());
    assertEquals(List.of(), there(CarePlan.class));
    front.removeStub(refusal);
    triesUntilAllIsThere();
    requireOnce();
  }

  @ParameterizedTest
  @ValueSource(strings = {"<html>", "{\"resourceType\":\"Patient\"}", "{\"resourceType\""})
  void whatIsNoCapabilityStatementIsTold(String body) throws Exception {
    var other =
        front.stubFor(
            get(urlPathEqualTo("/fhir/metadata"))
                .atPriority(1)
                .willReturn(aResponse().withBody(body)));
    tries();
    assertEquals("The record system did not answer with a CapabilityStatement.", problem());
    front.removeStub(other);
    triesUntilAllIsThere();
    requireOnce();
  }

  @Test
  void aTokenThatIsRefusedIsTold() throws Exception {
    // One that is known from before is no longer taken.
    var closed =
        front.stubFor(
            any(urlPathMatching("/fhir.*")).atPriority(1).willReturn(aResponse().withStatus(401)));
    var refused =
        front.stubFor(
            post("/token")
                .atPriority(1)
                .willReturn(
                    aResponse().withStatus(400).withBody("{\"error\":\"invalid_client\"}")));
    tries();
    assertEquals("The token endpoint answered 400.", problem());
    front.removeStub(refused);
    tries();
    assertEquals("The record system answered 401.", problem());
    front.removeStub(closed);
    triesUntilAllIsThere();
    requireOnce();
  }

  /** Between the look at what is there and the writing: If-Match finds it, and nothing is lost. */
  @ParameterizedTest
  @ValueSource(booleans = {true, false})
  void whatIsChangedAfterTheLookIsNotWrittenOver(boolean transactions) throws Exception {
    start(transactions);
    triesUntilAllIsThere();
    CarePlan edited = planThere().copy().setStatus(CarePlan.CarePlanStatus.ONHOLD);
    String at = "/fhir/CarePlan/" + edited.getIdElement().getIdPart();
    AtomicInteger looks = new AtomicInteger();
    spoiler.how =
        (request, answer) -> {
          if (request.getMethod().equals(RequestMethod.GET)
              && request.getUrl().equals(at)
              && looks.getAndIncrement() == 0) {
            there.put(edited);
          }
          return answer;
        };
    person.settled(1, 1);
    tries();
    assertEquals(
        "A record was changed in the record system meanwhile; it is looked at the next time.",
        problem());
    assertEquals(CarePlan.CarePlanStatus.ONHOLD, planThere().getStatus());
    assertEquals(CarePlan.CarePlanStatus.ACTIVE, person.plan().getStatus());
    triesUntilAllIsThere();
    assertEquals(CarePlan.CarePlanStatus.ONHOLD, person.plan().getStatus());
    assertEquals(CarePlan.CarePlanStatus.ONHOLD, planThere().getStatus());
    requireDistinct(there(ServiceRequest.class));
  }

  /** A server may leave out of a search what it does not know. */
  @Test
  void somebodyWithAnotherNumberIsNotThePerson() throws Exception {
    there.put(
        new Patient()
            .addIdentifier(new Identifier().setSystem(NATIONAL).setValue("another"))
            .setId("theirs"));
    var everybody =
        front.stubFor(
            get(urlPathEqualTo("/fhir/Patient"))
                .atPriority(1)
                .willReturn(
                    aResponse()
                        .withBody(
                            "{\"resourceType\":\"Bundle\",\"type\":\"searchset\",\"entry\":[{\"resource\":"
                                + PlanPerson.json(
                                    there.all("Patient").map(Patient.class::cast).findFirst().get())
                                + "}]}")));
    tries();
    assertEquals("The record system has nobody with an identifier of the person.", problem());
    assertEquals(List.of(), there(CarePlan.class));
    front.removeStub(everybody);
    there.put(new Patient().addIdentifier(number).setId("theirs"));
    triesUntilAllIsThere();
    requireOnce();
  }

  /** R4 leaves it to a server whether it numbers versions ({@code versioning}: no-version). */
  @ParameterizedTest
  @ValueSource(booleans = {true, false})
  void aServerThatNumbersNoVersionsIsComparedEachTime(boolean transactions) throws Exception {
    start(transactions);
    spoiler.how =
        (request, answer) ->
            Response.Builder.like(answer)
                .but()
                .headers(
                    new HttpHeaders(
                        answer.getHeaders().all().stream()
                            .filter(header -> !header.keyEquals("ETag"))
                            .filter(header -> !header.keyEquals("Content-Length"))
                            .map(WriteBackFaultsTest::unnumbered)
                            .toList()))
                .body(
                    answer
                        .getBodyAsString()
                        .replaceAll("\"versionId\": *\"[0-9]+\",?", "")
                        .replaceAll("\"etag\": *\"(\\\\.|[^\"\\\\])*\"", "\"etag\":\"none\"")
                        .replaceAll("/_history/[0-9]+", ""))
                .build();
    triesUntilAllIsThere();
    requireOnce();
    person.settled(1, 3);
    triesUntilAllIsThere();
    requireOnce();
    there.put(planThere().copy().setStatus(CarePlan.CarePlanStatus.ONHOLD));
    triesUntilAllIsThere();
    assertEquals(CarePlan.CarePlanStatus.ONHOLD, person.plan().getStatus());
    assertEquals(
        0,
        front
            .countRequestsMatching(
                anyRequestedFor(anyUrl()).withHeader("If-Match", matching(".*")).build())
            .getCount());
    assertEquals(
        0, front.findAll(anyRequestedFor(anyUrl()).withRequestBody(containing("ifMatch"))).size());
  }

  private static HttpHeader unnumbered(HttpHeader header) {
    return new HttpHeader(
        header.key(),
        header.values().stream().map(value -> value.replaceAll("/_history/[0-9]+", "")).toList());
  }

  /** A record system gives records numbers of its own. */
  @ParameterizedTest
  @ValueSource(booleans = {true, false})
  void whatARecordIsCalledThereStays(boolean transactions) throws Exception {
    start(transactions);
    triesUntilAllIsThere();
    CarePlan numbered = planThere().copy();
    numbered.addIdentifier().setSystem("https://records.example/plan").setValue("4711");
    numbered.getMeta().addTag().setSystem("https://records.example/ward").setCode("harbour");
    there.put(numbered);
    person.settled(1, 3);
    triesUntilAllIsThere();
    requireOnce();
    CarePlan after = planThere();
    assertTrue(after.getIdentifier().stream().anyMatch(one -> "4711".equals(one.getValue())));
    assertTrue(after.getMeta().getTag("https://records.example/ward", "harbour") != null);
    assertEquals(numbered.getIdentifier().size(), after.getIdentifier().size());
  }
}
