package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpResponse;
import java.nio.file.Path;
import java.time.Duration;
import java.util.List;
import java.util.Map;
import java.util.concurrent.CompletableFuture;
import java.util.concurrent.ThreadLocalRandom;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.UriType;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/**
 * A plan moves between two packaged services, each of which is killed (SIGKILL) at every step:
 * nothing is lost, nothing is there twice, and the same document again has the same answer.
 */
class HandoverKillIT {
  private static final int GIVER = PlanPerson.PORT;
  private static final Duration PATIENCE = Duration.ofSeconds(60);
  private static final List<String> TYPES =
      List.of("Patient", "CarePlan", "Observation", "ServiceRequest", "GuidanceResponse", "Goal");

  @TempDir Path folder;

  private final HttpClient client =
      HttpClient.newBuilder().version(HttpClient.Version.HTTP_1_1).build();
  private PackagedService giver;
  private PackagedService taker;
  private int takerPort;

  private Map<String, String> data(String name) {
    return Map.of("TIDEMARK_DATA", folder.resolve(name).toString(), "TIDEMARK_PAPERS_EVERY", "off");
  }

  private void startGiver() throws IOException {
    giver = PackagedService.start(GIVER, data("giver"));
  }

  private void startTaker() throws IOException {
    Map<String, String> settings = new java.util.HashMap<>(data("taker"));
    settings.put("TIDEMARK_BASE_URL", taker());
    settings.put(
        "TIDEMARK_HANDOVER_TRUSTED",
        PlanPerson.BASE + "|http://localhost:" + GIVER + "/.well-known/jwks.json");
    taker = PackagedService.start(takerPort, settings);
  }

  private void startBoth() throws Exception {
    startGiver();
    startTaker();
    giver.awaitReady();
    taker.awaitReady();
  }

  private String taker() {
    return "http://localhost:" + takerPort + "/fhir";
  }

  @Test
  void whoeverIsKilledThePlanArrivesOnceAndWhole() throws Exception {
    takerPort = PackagedService.freePort();
    try {
      startBoth();
      PlanPerson person = PlanPerson.enrolled();
      person.settled(1, 8);
      String plan = person.plan().getIdElement().getIdPart();
      String document = bothAreKilledBeforeAnythingIsStored(plan);
      theTakerIsKilledWhileItStores(document);
      bothAreKilledWhenItIsStored(plan, document);
      assertEquals(Map.of(), person.inForce(), "nothing is asked by both");
    } finally {
      giver.stop();
      taker.stop();
    }
  }

  /**
   * The giver amid its writing, the taker when the document begins to come. The giver's document is
   * that of before, and its key too, by which others know it.
   */
  private String bothAreKilledBeforeAnythingIsStored(String plan) throws Exception {
    String path = PlanPerson.BASE + "/CarePlan/" + plan + "/$handover";
    String keys = "http://localhost:" + GIVER + "/.well-known/jwks.json";
    String before = ok(get(path));
    String known = ok(get(keys));
    List<CompletableFuture<HttpResponse<String>>> begun =
        List.of(begin(get(path)), begin(receive(before)));
    killAfter(taker, 10);
    killAfter(giver, 40);
    begun.forEach(HandoverKillIT::end);
    startBoth();
    assertEquals(known, ok(get(keys)));
    String after = ok(get(path));
    assertEquals(identifier(before), identifier(after));
    requireOnceOrNothing(after);
    return after;
  }

  private void theTakerIsKilledWhileItStores(String document) throws Exception {
    CompletableFuture<HttpResponse<String>> posted = begin(receive(document));
    killAfter(taker, 1_500);
    HttpResponse<String> answer = end(posted);
    startTaker();
    taker.awaitReady();
    requireOnceOrNothing(document);
    if (answer != null) {
      assertEquals(200, answer.statusCode());
      requireOnce(document);
    }
  }

  /** The taker when it has answered; the giver while it closes the plan, and when it has. */
  private void bothAreKilledWhenItIsStored(String plan, String document) throws Exception {
    Parameters first = receipt(ok(receive(document)));
    taker.kill();
    String path = PlanPerson.BASE + "/CarePlan/" + plan;
    String pointer = taker() + "/" + reference(first, "plan");
    Parameters told = new Parameters();
    told.addParameter()
        .setName("document")
        .setValue(new Identifier().setValue(identifier(document)));
    told.addParameter().setName("successor").setValue(new UriType(pointer));
    HttpRequest close = post(path + "/$close-handover", PlanPerson.json(told));
    CompletableFuture<HttpResponse<String>> posted = begin(close);
    killAfter(giver, 60);
    end(posted);
    startBoth();
    requireOnce(document);
    Parameters again = receipt(ok(receive(document)));
    assertFalse(again.getParameterBool("changed"));
    for (String name : List.of("plan", "person")) {
      assertEquals(reference(first, name), reference(again, name));
    }
    requireOnce(document);
    ok(close);
    String closed = ok(get(path));
    giver.kill();
    startGiver();
    giver.awaitReady();
    assertEquals(closed, ok(get(path)), "what was answered stands");
    ok(close);
    assertEquals(closed, ok(get(path)), "closing again changes nothing");
    CarePlan stands = PlanPerson.CONTEXT.newJsonParser().parseResource(CarePlan.class, closed);
    assertEquals(CarePlan.CarePlanStatus.REVOKED, stands.getStatus());
    assertEquals(
        List.of(pointer),
        stands.getExtensionsByUrl(PlanPerson.OURS + "continued-by").stream()
            .map(continued -> ((Reference) continued.getValue()).getReference())
            .toList());
    assertEquals(
        1, stands.getNote().stream().filter(note -> note.getText().contains(pointer)).count());
  }

  private static void killAfter(PackagedService service, int mostMs) throws InterruptedException {
    Thread.sleep(ThreadLocalRandom.current().nextInt(mostMs));
    service.kill();
  }

  private void requireOnceOrNothing(String document) throws Exception {
    if (count("CarePlan") > 0) {
      requireOnce(document);
      return;
    }
    for (String type : TYPES) {
      assertEquals(0, count(type), type);
    }
  }

  /** The taker has each record of the document, and no other. */
  private void requireOnce(String document) throws Exception {
    Bundle whole = PlanPerson.CONTEXT.newJsonParser().parseResource(Bundle.class, document);
    for (String type : TYPES) {
      long sent =
          whole.getEntry().stream()
              .map(Bundle.BundleEntryComponent::getResource)
              .filter(resource -> resource.fhirType().equals(type))
              .count();
      assertEquals(sent, count(type), type);
      assertTrue(sent > 0, type);
    }
  }

  private int count(String type) throws Exception {
    return PlanPerson.CONTEXT
        .newJsonParser()
        .parseResource(Bundle.class, ok(get(taker() + "/" + type + "?_summary=count")))
        .getTotal();
  }

  private static String identifier(String document) {
    return PlanPerson.CONTEXT
        .newJsonParser()
        .parseResource(Bundle.class, document)
        .getIdentifier()
        .getValue();
  }

  private static Parameters receipt(String json) {
    return PlanPerson.CONTEXT.newJsonParser().parseResource(Parameters.class, json);
  }

  private static String reference(Parameters receipt, String name) {
    return ((Reference) receipt.getParameter(name).getValue()).getReference();
  }

  // ---- HTTP ----

  private static HttpRequest get(String address) {
    return HttpRequest.newBuilder(URI.create(address)).timeout(PATIENCE).build();
  }

  private static HttpRequest post(String address, String body) {
    return HttpRequest.newBuilder(URI.create(address))
        .timeout(PATIENCE)
        .header("Content-Type", Fhir.JSON)
        .POST(HttpRequest.BodyPublishers.ofString(body))
        .build();
  }

  private CompletableFuture<HttpResponse<String>> begin(HttpRequest request) {
    return client.sendAsync(request, HttpResponse.BodyHandlers.ofString());
  }

  /** The answer; null when the service was killed before it. */
  private static HttpResponse<String> end(CompletableFuture<HttpResponse<String>> begun) {
    return begun.exceptionally(killed -> null).join();
  }

  private HttpRequest receive(String document) {
    return post(taker() + "/$receive-handover", document);
  }

  private String ok(HttpRequest request) throws Exception {
    HttpResponse<String> answer = client.send(request, HttpResponse.BodyHandlers.ofString());
    assertEquals(200, answer.statusCode(), () -> request.uri() + answer.body());
    return answer.body();
  }
}
