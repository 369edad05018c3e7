package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import jakarta.inject.Inject;
import java.util.ArrayList;
import java.util.List;
import java.util.Set;
import java.util.UUID;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import java.util.stream.Collectors;
import java.util.stream.IntStream;
import org.hl7.fhir.r4.model.AuditEvent;
import org.hl7.fhir.r4.model.AuditEvent.AuditEventAgentComponent;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.audit.AuditCheck;
import org.tidemark.clinic.ActsForHome;
import org.tidemark.fhir.ProfileValidation;
import org.tidemark.http.Sender.Answer;

/**
 * Every request leaves what it did in the audit trail, once, in the patterns of IHE's Basic Audit
 * Log Patterns (BALP 1.1.4), and nobody writes there.
 */
@ExtendWith(ActsForHome.class)
@QuarkusTest
class AuditTrailTest {
  @Inject AuditCheck check;

  private final Sender sender = new Sender(null);
  private final AuditEvents trail = new AuditEvents(sender);
  private final String a = "a-" + UUID.randomUUID();
  private final String b = "b-" + UUID.randomUUID();

  @BeforeEach
  void people() {
    Fhir.put("Patient", a, "").statusCode(201);
    Fhir.put("Patient", b, "").statusCode(201);
  }

  /** What a request leaves. */
  private List<AuditEvent> events(
      int status, String method, String path, String body, String... h) {
    String id = UUID.randomUUID().toString();
    String[] headers = java.util.Arrays.copyOf(h, h.length + 2);
    headers[h.length] = RequestIds.HEADER;
    headers[h.length + 1] = id;
    Answer answer = sender.send(method, path, body, headers);
    assertEquals(status, answer.status(), answer.body());
    return trail.ofRequest(id);
  }

  private List<String> told(int status, String method, String path, String body, String... h) {
    return events(status, method, path, body, h).stream().map(AuditEvents::told).toList();
  }

  private static String observation(String patient) {
    return Fhir.observation(patient, "8310-5", "2026-03-02T10:00:00Z", "37");
  }

  private String stored(String patient) {
    return Fhir.post(observation(patient)).statusCode(201).extract().path("id");
  }

  @Test
  void eachInteractionLeavesOneEventWithTheVersionAndThePerson() {
    String person = "Patient/" + a;
    String path = "/fhir/" + person;
    assertEquals(
        List.of("read R 0 " + person + "/_history/1 " + person), told(200, "GET", path, null));
    assertEquals(
        List.of("vread R 0 " + person + "/_history/1 " + person),
        told(200, "GET", path + "/_history/1", null));
    assertEquals(
        List.of("update U 0 " + person + "/_history/2 " + person),
        told(
            200,
            "PUT",
            path,
            "{\"resourceType\":\"Patient\",\"id\":\"" + a + "\",\"active\":true}"));
    assertEquals(
        List.of("patch U 0 " + person + "/_history/3 " + person),
        told(
            200,
            "PATCH",
            path,
            "[{\"op\":\"add\",\"path\":\"/language\",\"value\":\"en\"}]",
            "Content-Type",
            "application/json-patch+json"));
    assertEquals(
        List.of("history-instance E 0 " + person + " " + person),
        told(200, "GET", path + "/_history", null));
    assertEquals(
        List.of("delete D 0 " + person + "/_history/3 " + person), told(204, "DELETE", path, null));
    assertEquals(List.of("delete D 0 " + person + " -"), told(204, "DELETE", path, null));
    assertEquals(List.of("read R 4 " + person + " -"), told(410, "GET", path, null));
  }

  @Test
  void aCreateNamesTheVersionThatWasMade() {
    List<AuditEvent> events = events(201, "POST", "/fhir/Observation", observation(a));
    assertEquals(1, events.size());
    assertTrue(
        AuditEvents.told(events.get(0))
            .matches("create C 0 Observation/[^/]+/_history/1 Patient/" + a),
        AuditEvents.told(events.get(0)));
  }

  /** By PUT a record comes into being as well. */
  @Test
  void anUpdateThatCreatesIsACreate() {
    String id = "Patient/c-" + UUID.randomUUID();
    String body = "{\"resourceType\":\"Patient\",\"id\":\"" + id.substring(8) + "\"}";
    assertEquals(
        List.of("create C 0 " + id + "/_history/1 " + id), told(201, "PUT", "/fhir/" + id, body));
  }

  /** A conditional create that finds a record has shown it. */
  @Test
  void aConditionalCreateThatFindsARecordIsARead() {
    String system = "urn:uuid:" + UUID.randomUUID();
    String body =
        "{\"resourceType\":\"Patient\",\"identifier\":[{\"system\":\"%s\",\"value\":\"1\"}]}"
            .formatted(system);
    String[] condition = {"If-None-Exist", "identifier=" + system + "%7C1"};
    List<String> first = told(201, "POST", "/fhir/Patient", body, condition);
    String record = first.get(0).split(" ")[3];
    assertEquals(1, first.size());
    assertEquals(
        List.of("read R 0 " + record + " " + record.replace("/_history/1", "")),
        told(200, "POST", "/fhir/Patient", body, condition));
  }

  /** "One AuditEvent is created for every Patient identified in the resulting search set." */
  @Test
  void aSearchLeavesAnEventForEachPersonWithTheQueryAsItWasSent() {
    stored(a);
    stored(a);
    stored(b);
    String path = "/fhir/Observation?subject=Patient/%s,Patient/%s&_sort=date".formatted(a, b);
    List<AuditEvent> events = events(200, "GET", path, null);
    assertEquals(
        Set.of("search-type E 0 - Patient/" + a, "search-type E 0 - Patient/" + b),
        events.stream().map(AuditEvents::told).collect(Collectors.toSet()));
    assertEquals(2, events.size());
    events.forEach(event -> assertEquals("GET " + path, AuditEvents.query(event)));
  }

  @Test
  void aSearchThatFindsNobodyLeavesOneEventWithThePersonThatWasAskedFor() {
    assertEquals(
        List.of("search-type E 0 - Patient/" + a),
        told(200, "GET", "/fhir/Observation?patient=" + a, null));
    assertEquals(
        List.of("search-type E 0 - -"), told(200, "GET", "/fhir/Observation?code=none", null));
  }

  @Test
  void aSearchByPostTellsWhatItsFormHeld() {
    List<AuditEvent> events =
        events(
            200,
            "POST",
            "/fhir/Observation/_search",
            "patient=" + a + "&_count=3",
            "Content-Type",
            "application/x-www-form-urlencoded");
    assertEquals(
        List.of("search-type E 0 - Patient/" + a), events.stream().map(AuditEvents::told).toList());
    String query = AuditEvents.query(events.get(0));
    assertTrue(
        query.startsWith("POST /fhir/Observation/_search\n") && query.contains("patient=" + a),
        query);
  }

  @Test
  void whoComesAlongWithASearchIsTold() {
    stored(a);
    assertEquals(
        List.of("search-type E 0 - Patient/" + a),
        told(200, "GET", "/fhir/Patient?_id=" + a + "&_revinclude=Observation:subject", null));
  }

  private String bundle(String type, String... entries) {
    return "{\"resourceType\":\"Bundle\",\"type\":\"%s\",\"entry\":[%s]}"
        .formatted(type, String.join(",", entries));
  }

  private static String post(String observation) {
    return "{\"resource\":%s,\"request\":{\"method\":\"POST\",\"url\":\"Observation\"}}"
        .formatted(observation);
  }

  private static String get(String url) {
    return "{\"request\":{\"method\":\"GET\",\"url\":\"%s\"}}".formatted(url);
  }

  @Test
  void eachEntryOfATransactionLeavesItsEvent() {
    List<AuditEvent> events =
        events(
            200,
            "POST",
            "/fhir",
            bundle(
                "transaction",
                post(observation(a)),
                post(observation(b)),
                get("Patient/" + a),
                get("Observation?patient=" + b)));
    assertEquals(
        List.of(
            "create Patient/" + a,
            "create Patient/" + b,
            "read Patient/" + a,
            "search-type Patient/" + b),
        events.stream()
            .map(event -> event.getSubtypeFirstRep().getCode() + " " + AuditEvents.what(event, "1"))
            .sorted()
            .toList());
    assertEquals("GET Observation?patient=" + b, AuditEvents.query(events.get(3)));
  }

  /** What was undone did not happen; that it was tried, did. */
  @Test
  void aTransactionThatIsRolledBackLeavesItsFailureAndNoSuccess() {
    List<AuditEvent> events =
        events(
            422,
            "POST",
            "/fhir",
            bundle(
                "transaction", post(observation(a)), get("Patient/" + a), post(observation("no"))));
    assertEquals(List.of("transaction E 4 - -"), events.stream().map(AuditEvents::told).toList());
    assertEquals("HTTP 422", events.get(0).getOutcomeDesc());
    assertTrue(trail.search("patient=" + a + "&action=C").size() == 1, "only the person's own");
  }

  @Test
  void eachEntryOfABatchLeavesItsEventWhateverBecameOfIt() {
    List<String> told =
        told(
            200,
            "POST",
            "/fhir",
            bundle(
                "batch",
                get("Patient/" + a),
                get("Patient/none"),
                post(observation("none")),
                "{\"request\":{\"method\":\"DELETE\",\"url\":\"Patient/" + b + "\"}}"));
    assertEquals(
        Set.of(
            "read R 0 Patient/%s/_history/1 Patient/%s".formatted(a, a),
            "read R 4 Patient/none -",
            "create C 4 - -",
            "delete D 0 Patient/%s/_history/1 Patient/%s".formatted(b, b)),
        Set.copyOf(told));
    assertEquals(4, told.size());
  }

  @ParameterizedTest(name = "{0} {1}: {2}")
  @CsvSource({
    "GET, Patient/none, 404, read R 4 Patient/none -",
    "GET, Patient?colour=red, 400, search-type E 4 - -",
    "PUT, AuditEvent/1, 405, update U 4 AuditEvent/1 -",
    "POST, Observation, 422, create C 4 - -",
    "GET, Claim/1, 404, read R 4 Claim/1 -"
  })
  void aRefusalLeavesOneEventWithTheRequest(
      String method, String path, int status, String expected) {
    String body =
        method.equals("GET")
            ? null
            : method.equals("PUT") ? "{\"resourceType\":\"AuditEvent\"}" : observation("nobody");
    List<AuditEvent> events = events(status, method, "/fhir/" + path, body);
    assertEquals(List.of(expected), events.stream().map(AuditEvents::told).toList());
    assertEquals(method + " /fhir/" + path, AuditEvents.query(events.get(0)));
    assertEquals("HTTP " + status, events.get(0).getOutcomeDesc());
    assertFalse(events.get(0).getMeta().hasProfile(), "BALP's are for what succeeded");
  }

  @Test
  void operationsPagesAndCardsLeaveOneEventForEachPerson() {
    PlanPerson person = PlanPerson.enrolled();
    String id = person.subject.substring("Patient/".length());
    String plan =
        sender
            .get("/fhir/CarePlan?patient=" + id)
            .body()
            .replaceAll("(?s).*?\"resourceType\": ?\"CarePlan\", ?\"id\": ?\"([^\"]+)\".*", "$1");
    for (String operation : List.of("$next-prescription", "$handout")) {
      assertEquals(
          List.of("operation E 0 CarePlan/%s %s".formatted(plan, person.subject)),
          told(200, "GET", "/fhir/CarePlan/" + plan + "/" + operation, null));
    }
    assertEquals(
        List.of("110110 E 0 - " + person.subject), told(200, "GET", "/plan/" + plan, null));
    assertTrue(
        told(200, "GET", "/", null).stream().allMatch(event -> event.startsWith("110110 E 0 - ")));
    String call =
        """
        {"hook":"patient-view","hookInstance":"9f1f4a9e-5d0c-4f6e-8a43-0d2f1c1b7a55",
         "context":{"userId":"Practitioner/ada","patientId":"%s"}}"""
            .formatted(id);
    assertEquals(
        List.of("110110 E 0 - " + person.subject),
        told(200, "POST", "/cds-services/plan-review", call, "Content-Type", "application/json"));
  }

  /** What a report leads to is told by Provenance; the client has written one record. */
  @Test
  void whatTheServiceWritesForAReportIsNotTheClients() {
    PlanPerson person = PlanPerson.enrolled();
    String json = PlanPerson.json(person.session(1));
    List<AuditEvent> events = events(201, "POST", "/fhir/Observation", json);
    assertEquals(1, events.size());
    assertTrue(AuditEvents.told(events.get(0)).startsWith("create C 0 Observation/"));
  }

  @Test
  void whatTellsOfTheServiceAloneLeavesNothing() {
    assertEquals(List.of(), told(200, "GET", "/fhir/metadata", null));
  }

  // ---- the form ----

  private static AuditEventAgentComponent agent(AuditEvent event, String code) {
    return event.getAgent().stream()
        .filter(agent -> agent.getType().getCodingFirstRep().getCode().equals(code))
        .findFirst()
        .orElseThrow();
  }

  /**
   * What BALP's profiles require of each interaction: the type and subtype, the roles of client and
   * server with who and network, the entities; here without a user.
   */
  @ParameterizedTest(name = "{0}")
  @CsvSource({
    "Read, GET, 110152, 110153",
    "Create, POST, 110153, 110152",
    "Update, PUT, 110153, 110152",
    "Delete, DELETE, 110150, custodian",
    "Query, SEARCH, 110153, 110152"
  })
  void hasWhatBalpRequires(String pattern, String method, String client, String server) {
    String id = stored(a);
    String path = "/fhir/Observation/" + id;
    List<AuditEvent> events =
        switch (method) {
          case "POST" -> events(201, "POST", "/fhir/Observation", observation(a));
          case "PUT" ->
              events(
                  200, "PUT", path, observation(a).replaceFirst("\\{", "{\"id\":\"" + id + "\","));
          case "DELETE" -> events(204, "DELETE", path, null);
          case "SEARCH" -> events(200, "GET", "/fhir/Observation?patient=" + a, null);
          default -> events(200, "GET", path, null);
        };
    assertEquals(1, events.size());
    AuditEvent event = events.get(0);
    assertEquals(
        "https://profiles.ihe.net/ITI/BALP/StructureDefinition/IHE.BasicAudit.Patient" + pattern,
        event.getMeta().getProfile().get(0).getValue());
    assertEquals("rest", event.getType().getCode());
    assertEquals("0", event.getOutcome().toCode());
    for (String role : List.of(client, server)) {
      assertTrue(agent(event, role).hasWho() && agent(event, role).getNetwork().hasAddress(), role);
    }
    assertEquals("anyone", agent(event, client).getWho().getDisplay());
    assertEquals("127.0.0.1", agent(event, client).getNetwork().getAddress());
    assertEquals("Patient/" + a, AuditEvents.what(event, "1"));
    boolean query = pattern.equals("Query");
    assertEquals(query, AuditEvents.inRole(event, "24").isPresent());
    assertEquals(!query, AuditEvents.inRole(event, "4").isPresent());
    assertTrue(AuditEvents.requestId(event).isPresent());
    assertTrue(event.getSource().getObserver().hasDisplay());
  }

  @Test
  void isValidR4() {
    events(200, "GET", "/fhir/Patient/" + a, null);
    events(404, "GET", "/fhir/Patient/none", null);
    events(200, "GET", "/", null);
    events(200, "GET", "/fhir/Patient/" + a + "/_history", null);
    List<AuditEvent> all = trail.search("_count=30");
    assertEquals(30, all.size());
    for (AuditEvent event : all) {
      // IHE's own definitions are not here; what they require is checked above.
      event.getMeta().getProfile().clear();
      assertEquals(List.of(), ProfileValidation.errors(event), AuditEvents.told(event));
    }
  }

  // ---- reading ----

  @Test
  void isFoundByDatePersonActionEntityAndOutcome() {
    String id = stored(a);
    events(200, "GET", "/fhir/Observation/" + id, null);
    events(404, "GET", "/fhir/Observation/" + id + "/_history/7", null);
    // A search of the trail leaves an event itself, which is an E.
    String about = "action=C,R&patient=" + a;
    assertEquals(3, trail.search(about).size());
    assertEquals(3, trail.search("action=C,R&patient=Patient/" + a).size());
    assertEquals(1, trail.search(about + "&action=R").size());
    assertEquals(2, trail.search(about + "&action=C").size());
    assertEquals(3, trail.search("entity=Observation/" + id).size());
    assertEquals(2, trail.search("entity=Observation/" + id + "/_history/1").size());
    assertEquals(1, trail.search("entity=Observation/" + id + "&outcome=4").size());
    assertEquals(2, trail.search("entity=Observation/" + id + "&outcome=0").size());
    assertEquals(3, trail.search(about + "&date=ge2026-01-01").size());
    assertEquals(0, trail.search(about + "&date=lt2026-01-01").size());
    assertEquals(0, trail.search(about + "&date=2025").size());
    AuditEvent first = trail.search(about + "&_sort=date&_count=1").get(0);
    assertEquals(
        "create C 0 Patient/%s/_history/1 Patient/%s".formatted(a, a), AuditEvents.told(first));
    String moment = first.getRecordedElement().getValueAsString().replace("+", "%2B");
    assertTrue(trail.search(about + "&date=" + moment).size() >= 1);
    assertEquals(200, sender.get("/fhir/AuditEvent/" + first.getIdPart()).status());
    assertEquals(404, sender.get("/fhir/AuditEvent/999999999").status());
  }

  @Test
  void aPageLeadsToTheNext() {
    IntStream.range(0, 5).forEach(i -> stored(a));
    List<String> seen = new ArrayList<>();
    String path = "/fhir/AuditEvent?patient=" + a + "&_count=2";
    while (!path.isEmpty()) {
      org.hl7.fhir.r4.model.Bundle page =
          PlanPerson.CONTEXT
              .newJsonParser()
              .parseResource(org.hl7.fhir.r4.model.Bundle.class, sender.get(path).body());
      assertFalse(page.hasTotal(), "nobody counted");
      page.getEntry().forEach(entry -> seen.add(entry.getResource().getIdPart()));
      path =
          page.getLink("next") == null
              ? ""
              : page.getLink("next").getUrl().replace(PlanPerson.BASE, "/fhir");
    }
    assertEquals(6, seen.size());
    assertEquals(6, Set.copyOf(seen).size());
  }

  @Test
  void aLookAtTheTrailLeavesAnEvent() {
    assertEquals(
        List.of("search-type E 0 - Patient/" + a),
        told(200, "GET", "/fhir/AuditEvent?patient=" + a, null));
  }

  @ParameterizedTest
  @ValueSource(
      strings = {"POST /fhir/AuditEvent", "PUT /fhir/AuditEvent/1", "DELETE /fhir/AuditEvent/1"})
  void nobodyWritesThere(String request) {
    String[] parts = request.split(" ");
    String body = parts[0].equals("DELETE") ? null : "{\"resourceType\":\"AuditEvent\"}";
    assertEquals(405, sender.send(parts[0], parts[1], body).status());
    String entry =
        "{\"resource\":{\"resourceType\":\"AuditEvent\"},"
            + "\"request\":{\"method\":\"POST\",\"url\":\"AuditEvent\"}}";
    assertTrue(sender.send("POST", "/fhir", bundle("transaction", entry)).status() >= 400);
  }

  // ---- the chain ----

  /** Many at once: each leaves its one event, and the chain is whole. */
  @Test
  void writersAtOnceLeaveAWholeChain() throws Exception {
    ExecutorService pool = Executors.newFixedThreadPool(8);
    List<Future<?>> running = new ArrayList<>();
    for (int thread = 0; thread < 8; thread++) {
      String person = thread % 2 == 0 ? a : b;
      running.add(
          pool.submit(
              () -> {
                for (int i = 0; i < 10; i++) {
                  stored(person);
                  sender.get("/fhir/Patient/" + person);
                }
              }));
    }
    for (Future<?> one : running) {
      one.get();
    }
    pool.shutdown();
    for (String person : List.of(a, b)) {
      assertEquals(41, trail.search("patient=" + person + "&action=C&_count=200").size());
      assertEquals(40, trail.search("patient=" + person + "&action=R&_count=200").size());
    }
    assertTrue(check.run().broken().isEmpty());
  }
}
