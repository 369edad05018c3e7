package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.math.BigDecimal;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpResponse;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.TreeMap;
import java.util.TreeSet;
import java.util.UUID;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Resource;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.application.Dividing;
import org.tidemark.application.PaperFiling;
import org.tidemark.application.Types;
import org.tidemark.audit.AuditCheck;
import org.tidemark.clinic.ActingClinic;
import org.tidemark.exchange.Notifier;
import org.tidemark.http.Sender.Answer;
import org.tidemark.store.ClinicWall;

/**
 * Two clinics on one service: by whatever request, one finds and changes nothing of the other.
 *
 * <p>That an id of the other clinic is answered as one that does not exist is judged without a
 * clock: the answers are the same to the letter, the database is asked the same in the same order,
 * and the statements that look a record up have the clinic as a condition on the leading column of
 * the key ({@code ClinicTies}, {@code SchemaTest}), so that the database finds no row in either
 * case and the same code answers both. There is no branch that knows of another clinic's row, and
 * so none that could take longer.
 */
@QuarkusTest
@TestProfile(TwoClinics.class)
class ClinicsApartTest {
  private static final ObjectMapper JSON = new ObjectMapper();
  private static final String HERE = "http://localhost:8081";
  private static final String SYSTEM = "https://ward.example";

  /** A person of {@code default} with all that a plan leads to, and records of every other type. */
  private static PlanPerson person;

  /** By type: the id of a record that only {@code default} has. */
  private static Map<String, String> ofA;

  @Inject PaperFiling papers;
  @Inject Dividing dividing;
  @Inject Notifier notifier;
  @Inject AuditCheck check;

  private Sender a;
  private Sender b;

  @BeforeEach
  void clinics() {
    a = TwoClinics.sender("default");
    b = TwoClinics.sender(TwoClinics.NORTH);
    TwoClinics.sendsTo("default");
    if (person == null) {
      person = PlanPerson.enrolled();
      person.settled(1, 2);
      person.send(person.range(2, 95));
      person.send(person.limit("towel-thickness", "least", new BigDecimal("12"), "cm"));
      person.send(person.warning(3));
      papers.file();
      others(person.subject).forEach(ClinicsApartTest::make);
      ofA = new TreeMap<>();
      types().forEach(type -> ofA.put(type, onlyInA(type)));
    }
  }

  @AfterEach
  void open() {
    TwoClinics.leave();
  }

  /** Everything that clients can read and that is not the same for all. */
  static Stream<String> types() {
    return Stream.concat(Types.WRITTEN.stream(), Types.PAPERS.stream());
  }

  /** Records that no plan leads to. */
  private static Map<String, String> others(String subject) {
    String about = ",\"subject\":{\"reference\":\"" + subject + "\"}";
    Map<String, String> others = new TreeMap<>();
    others.put("Practitioner", ",\"name\":[{\"family\":\"Okonkwo-Lindqvist\"}]");
    others.put("PractitionerRole", ",\"active\":true");
    others.put("Organization", ",\"name\":\"A ward\"");
    others.put("Device", ",\"status\":\"active\"");
    others.put(
        "Group",
        ",\"type\":\"person\",\"actual\":true,\"member\":[{\"entity\":{\"reference\":\""
            + subject
            + "\"}}]");
    others.put("Condition", about);
    others.put("PlanDefinition", ",\"status\":\"draft\"");
    others.put("ActivityDefinition", ",\"status\":\"draft\"");
    others.put("Questionnaire", ",\"status\":\"draft\"");
    others.put("QuestionnaireResponse", ",\"status\":\"in-progress\"" + about);
    others.put(
        "Subscription",
        ",\"status\":\"requested\",\"reason\":\"A test\",\"criteria\":\"Observation?status=final\","
            + "\"channel\":{\"type\":\"rest-hook\",\"endpoint\":\"http://127.0.0.1:9/hook\"}");
    return others;
  }

  private static void make(String type, String members) {
    Answer made =
        TwoClinics.sender("default")
            .send("POST", "/fhir/" + type, "{\"resourceType\":\"" + type + "\"" + members + "}");
    assertEquals(201, made.status(), made.body());
  }

  private String onlyInA(String type) {
    Set<String> ids = ids(a, type);
    ids.removeAll(ids(b, type));
    assertFalse(ids.isEmpty(), type);
    return ids.iterator().next();
  }

  private static Set<String> ids(Sender sender, String type) {
    return TwoClinics.bundle(sender.get("/fhir/" + type + "?_count=500&_elements=id"))
        .getEntry()
        .stream()
        .map(entry -> entry.getResource().getIdElement().getIdPart())
        .collect(Collectors.toCollection(TreeSet::new));
  }

  /** Every version that a clinic has. */
  private static Set<String> versions(Sender sender) {
    Set<String> versions = new TreeSet<>();
    String page = "/fhir/_history?_count=500";
    while (page != null) {
      Bundle past = TwoClinics.bundle(sender.get(page));
      past.getEntry().forEach(e -> versions.add(e.getFullUrl() + " " + e.getResponse().getEtag()));
      page =
          past.getLink("next") == null
              ? null
              : past.getLink("next").getUrl().replaceFirst("http://[^/]+", "");
    }
    return versions;
  }

  // ---- ids of the other clinic ----

  /** Requests that name a record, by its type. */
  private static List<String> readings(String type) {
    List<String> all =
        new ArrayList<>(
            List.of(
                "GET /fhir/%s/ID",
                "GET /fhir/%s/ID/_history",
                "GET /fhir/%s/ID/_history/1",
                "PATCH /fhir/%s/ID",
                "DELETE /fhir/%s/ID",
                "DELETE /fhir/%s?_id=ID",
                "MATCHED /fhir/%s/ID"));
    switch (type) {
      case "Patient" -> {
        all.add("GET /fhir/Patient/ID/$everything");
        all.add("GET /fhir/PlanDefinition/knee-deep-flexion/$apply?subject=Patient/ID&side=left");
        all.add("CARD ID");
      }
      case "CarePlan" ->
          all.addAll(
              List.of(
                  "GET /fhir/CarePlan/ID/$next-prescription",
                  "GET /fhir/CarePlan/ID/$handout",
                  "GET /fhir/CarePlan/ID/$progress-report",
                  "GET /fhir/CarePlan/ID/$handover",
                  "CLOSE /fhir/CarePlan/ID/$close-handover",
                  "GET /plan/ID",
                  "GET /plan/ID/handout"));
      case "Subscription" ->
          all.addAll(
              List.of(
                  "GET /fhir/Subscription/ID/$status",
                  "GET /fhir/Subscription/ID/$events",
                  "GET /fhir/Subscription/ID/$undelivered"));
      default -> {}
    }
    return all.stream().map(line -> line.formatted(type)).toList();
  }

  private Answer sent(String request, String type, String id) {
    String[] parts = request.replace("ID", id).split(" ", 2);
    String body = "{\"resourceType\":\"%s\",\"id\":\"%s\"}".formatted(type, id);
    return switch (parts[0]) {
      case "PATCH" ->
          b.send(
              "PATCH",
              parts[1],
              "[{\"op\":\"add\",\"path\":\"/language\",\"value\":\"en\"}]",
              "Content-Type",
              "application/json-patch+json");
      case "MATCHED" -> b.send("PUT", parts[1], body, "If-Match", "W/\"1\"");
      case "CLOSE" ->
          b.send(
              "POST",
              parts[1],
              "{\"resourceType\":\"Parameters\",\"parameter\":[{\"name\":\"document\","
                  + "\"valueIdentifier\":{\"value\":\"urn:uuid:1\"}},{\"name\":\"successor\","
                  + "\"valueUri\":\"http://elsewhere.example/CarePlan/1\"}]}");
      case "CARD" ->
          b.send(
              "POST",
              "/cds-services/plan-review",
              ("{\"hook\":\"patient-view\",\"hookInstance\":\"9f1f4a9e-5d0c-4f6e-8a43-0d2f1c1b7a55\","
                      + "\"context\":{\"userId\":\"Practitioner/ada\",\"patientId\":\"%s\"}}")
                  .formatted(id),
              "Content-Type",
              "application/json");
      default -> b.send(parts[0], parts[1], null);
    };
  }

  @ParameterizedTest
  @MethodSource("types")
  void anIdOfTheOtherClinicIsAsOneThatDoesNotExist(String type) {
    String id = ofA.get(type);
    assertEquals(200, a.get("/fhir/" + type + "/" + id).status());
    Set<String> before = versions(a);
    String unknown = UUID.randomUUID().toString();
    int asked = 0;
    for (String request : readings(type)) {
      sent(request, type, UUID.randomUUID().toString());
      List<String> askedForHidden = ClinicWall.listen();
      Answer hidden = sent(request, type, id);
      List<String> askedForNone = ClinicWall.listen();
      Answer none = sent(request, type, unknown);
      ClinicWall.listenNoMore();
      assertEquals(askedForNone, askedForHidden, request);
      asked += askedForHidden.size();
      assertEquals(none.status(), hidden.status(), request);
      assertEquals(none.body().replace(unknown, "ID"), hidden.body().replace(id, "ID"), request);
      if (request.startsWith("GET") && !request.contains("$apply")) {
        assertEquals(404, hidden.status(), request + hidden.body());
      }
    }
    assertTrue(asked > 0, "statements were heard");
    for (String search : List.of("?_id=", "?_total=accurate&_id=")) {
      Answer found = b.get("/fhir/" + type + search + id);
      assertEquals(0, TwoClinics.bundle(found).getEntry().size());
      assertEquals(0, found.total());
    }
    assertEquals(before, versions(a), "nothing of the other clinic has changed");
  }

  /** Entries of a Bundle are no way round. */
  @ParameterizedTest
  @ValueSource(strings = {"batch", "transaction"})
  void norIsItReachedByAnEntryOfABundle(String kind) {
    for (String method : List.of("GET", "PATCH")) {
      for (String type : List.of("Patient", "CarePlan", "Observation")) {
        String url = type + "/" + ofA.get(type);
        String patch =
            method.equals("GET")
                ? ""
                : ",\"resource\":{\"resourceType\":\"Binary\",\"contentType\":"
                    + "\"application/json-patch+json\",\"data\":\"W10=\"}";
        Answer answer =
            b.send(
                "POST",
                "/fhir",
                ("{\"resourceType\":\"Bundle\",\"type\":\"%s\",\"entry\":[{\"request\":{\"method\":"
                        + "\"%s\",\"url\":\"%s\"}%s}]}")
                    .formatted(kind, method, url, patch));
        if (kind.equals("batch")) {
          String status = TwoClinics.bundle(answer).getEntryFirstRep().getResponse().getStatus();
          assertTrue(status.startsWith("404"), answer.body());
        } else {
          assertEquals(404, answer.status(), answer.body());
        }
      }
    }
  }

  // ---- searches, histories, pages ----

  /** No id that only the other clinic has stands in what is listed. */
  @Test
  void whatIsListedIsOnesOwn() {
    for (String path :
        List.of(
            "/fhir/_history?_count=500",
            "/",
            "/?name=Brandvik",
            "/fhir/Provenance?_include=Provenance:target&_count=500",
            "/fhir/Patient?_revinclude=Observation:subject&_count=500")) {
      Answer listed = b.get(path);
      assertEquals(200, listed.status(), path);
      ofA.forEach((type, id) -> assertFalse(listed.body().contains(id), path + " tells " + type));
      assertFalse(listed.body().contains(TwoClinics.planOf(person)), path);
    }
    assertTrue(a.get("/").body().contains(TwoClinics.planOf(person)));
    types()
        .forEach(
            type -> {
              Answer all = b.get("/fhir/" + type + "?_count=500&_total=accurate");
              assertFalse(all.body().contains(ofA.get(type)), type);
              assertEquals(all.total(), ids(b, type).size(), "the count is of what is listed");
              Answer past = b.get("/fhir/" + type + "/_history?_count=500");
              assertFalse(past.body().contains(ofA.get(type)), type);
            });
    for (String type : List.of("Observation", "Goal", "Task", "CarePlan", "Flag")) {
      assertEquals(0, b.get("/fhir/" + type + "?patient=" + person.subject).total(), type);
    }
  }

  // ---- the same ids and identifiers in both ----

  @Test
  void bothMayHaveTheSameIdsAndIdentifiers() {
    String id = "same-" + UUID.randomUUID();
    String mine = patient(id, "Aalto");
    assertEquals(201, a.send("PUT", "/fhir/Patient/" + id, mine).status());
    assertEquals(404, b.get("/fhir/Patient/" + id).status());
    assertEquals(201, b.send("PUT", "/fhir/Patient/" + id, patient(id, "Brandt")).status());
    assertEquals(200, b.send("PUT", "/fhir/Patient/" + id, patient(id, "Bergen")).status());
    assertTrue(a.get("/fhir/Patient/" + id).body().contains("Aalto"));
    assertEquals("W/\"1\"", a.get("/fhir/Patient/" + id).header("ETag"));
    assertEquals(404, a.get("/fhir/Patient/" + id + "/_history/2").status());
    assertTrue(b.get("/fhir/Patient?identifier=" + SYSTEM + "|" + id).body().contains("Bergen"));
    assertEquals(1, a.get("/fhir/Patient?identifier=" + SYSTEM + "|" + id).total());
    observed(a, id, "a");
    observed(b, id, "b");
    for (String query :
        List.of(
            "Patient?_id=" + id + "&_revinclude=Observation:subject",
            "Observation?patient=" + id + "&_include=Observation:subject")) {
      Bundle both = TwoClinics.bundle(b.get("/fhir/" + query));
      assertEquals(2, both.getEntry().size(), query);
      assertFalse(PlanPerson.json(both).contains("Aalto"), query);
      assertFalse(PlanPerson.json(both).contains("\"a-" + id), query);
    }
    Bundle everything = TwoClinics.bundle(b.get("/fhir/Patient/" + id + "/$everything"));
    assertFalse(PlanPerson.json(everything).contains("Aalto"));
    assertEquals(200, b.send("DELETE", "/fhir/Observation/b-" + id, null).status() / 100 * 100);
    assertEquals(204, b.send("DELETE", "/fhir/Patient/" + id, null).status());
    assertEquals(410, b.get("/fhir/Patient/" + id).status());
    assertTrue(a.get("/fhir/Patient/" + id).body().contains("Aalto"));
    assertEquals(200, a.get("/fhir/Observation/a-" + id).status());
  }

  private static void observed(Sender sender, String patient, String name) {
    String id = name + "-" + patient;
    String text =
        Fhir.observation(patient, "8867-4", "2026-01-01", "60")
            .replaceFirst("\\{", "{\"id\":\"" + id + "\",");
    Answer put = sender.send("PUT", "/fhir/Observation/" + id, text);
    assertEquals(201, put.status(), put.body());
  }

  private static String patient(String id, String family) {
    return ("{\"resourceType\":\"Patient\",\"id\":\"%s\",\"identifier\":[{\"system\":\"%s\","
            + "\"value\":\"%s\"}],\"name\":[{\"family\":\"%s\"}]}")
        .formatted(id, SYSTEM, id, family);
  }

  /** A condition is looked up, and an identifier taken, in one's own clinic. */
  @Test
  void conditionsAreJudgedByOnesOwnRecords() {
    String value = UUID.randomUUID().toString();
    String condition = "identifier=" + SYSTEM + "|" + value;
    String text = patient(value, "Aalto").replaceFirst("\"id\":\"[^\"]+\",", "");
    for (Sender one : List.of(a, b)) {
      assertEquals(
          201, one.send("POST", "/fhir/Patient", text, "If-None-Exist", condition).status());
      assertEquals(
          200, one.send("POST", "/fhir/Patient", text, "If-None-Exist", condition).status());
    }
    String other = text.replace("Aalto", "Brandt");
    assertEquals(200, b.send("PUT", "/fhir/Patient?" + condition, other).status());
    assertTrue(a.get("/fhir/Patient?" + condition).body().contains("Aalto"));
    assertEquals(204, b.send("DELETE", "/fhir/Patient?" + condition, null).status());
    assertEquals(1, a.get("/fhir/Patient?" + condition).total());
    assertEquals(0, b.get("/fhir/Patient?" + condition).total());
    String report =
        ("{\"resourceType\":\"Bundle\",\"type\":\"transaction\",\"entry\":[{\"resource\":%s,"
                + "\"request\":{\"method\":\"POST\",\"url\":\"Observation\"}}]}")
            .formatted(
                Fhir.observation("x", "8867-4", "2026-01-01", "60")
                    .replace("Patient/x", "Patient?" + condition));
    Answer refused = b.send("POST", "/fhir", report);
    assertTrue(refused.status() >= 400, refused.body());
    Answer taken = a.send("POST", "/fhir", report);
    assertEquals(200, taken.status(), taken.body());
  }

  // ---- exports, subscriptions, the trail ----

  @Test
  void anExportHasOnesOwnAndIsOnesOwn() throws Exception {
    Answer begun = b.send("GET", "/fhir/$export", null, "Prefer", "respond-async");
    String place = begun.header("Content-Location");
    assertTrue(place.startsWith(TwoClinics.NORTH_BASE + "/export/"), place);
    String path = URI.create(place).getPath();
    assertEquals(404, a.get(path).status());
    Thread.sleep(1_100);
    dividing.divide();
    Answer manifest = b.get(path);
    assertEquals(200, manifest.status(), manifest.body());
    assertEquals(404, a.get(path).status());
    assertEquals(404, a.get(path + "/1.ndjson").status());
    assertEquals(404, a.send("DELETE", path, null).status());
    int records = 0;
    for (JsonNode file : JSON.readTree(manifest.body()).get("output")) {
      String lines = b.get(URI.create(file.get("url").asText()).getPath()).body();
      records += (int) lines.lines().count();
      ofA.forEach((type, id) -> assertFalse(lines.contains(id), type));
    }
    assertTrue(records > 10, "the clinic's definitions at least: " + records);
  }

  @Test
  void aSubscriptionIsToldOfItsOwnClinicOnly() {
    try (Receiver receiver = new Receiver()) {
      String subscription =
          ("{\"resourceType\":\"Subscription\",\"status\":\"requested\",\"reason\":\"A test\","
                  + "\"criteria\":\"Observation?status=final\",\"channel\":{\"type\":\"rest-hook\","
                  + "\"endpoint\":\"%s\"}}")
              .formatted(receiver.address());
      assertEquals(201, b.send("POST", "/fhir/Subscription", subscription).status());
      notifier.send();
      int before = receiver.got().size();
      observed(a, somebody(a), "a");
      notifier.send();
      assertEquals(before, receiver.got().size());
      observed(b, somebody(b), "b");
      notifier.send();
      assertEquals(before + 1, receiver.got().size());
    }
  }

  private static String somebody(Sender sender) {
    String id = UUID.randomUUID().toString();
    assertEquals(201, sender.send("PUT", "/fhir/Patient/" + id, patient(id, "Aalto")).status());
    return id;
  }

  /** Each clinic has a chain of its own, which is whole. */
  @Test
  void eachClinicHasATrailOfItsOwn() {
    String asked = "only-in-" + UUID.randomUUID();
    assertEquals(404, b.get("/fhir/Patient/" + asked).status());
    assertTrue(b.get("/fhir/AuditEvent?_count=500").body().contains(asked));
    assertFalse(a.get("/fhir/AuditEvent?_count=500").body().contains(asked));
    assertTrue(
        b.get("/fhir/AuditEvent?_count=1").body().contains("The clinic in the north"),
        "who observed it");
    for (String clinic : List.of("default", TwoClinics.NORTH)) {
      ActingClinic.during(
          clinic,
          () -> {
            AuditCheck.Result result = check.run();
            assertTrue(result.broken().isEmpty(), clinic);
            assertTrue(result.head().seq() > 0, clinic);
          });
    }
  }

  // ---- which clinic a request is for ----

  @Test
  void aTokenThatIsForNoClinicServedHereIsRefused() {
    Map<String, Object> none = Map.of("aud", PlanPerson.BASE);
    for (Map<String, Object> claims :
        List.of(
            none,
            Map.<String, Object>of(TwoClinics.CLAIM, "south"),
            Map.<String, Object>of(TwoClinics.CLAIM, ""),
            Map.<String, Object>of(TwoClinics.CLAIM, "DEFAULT"))) {
      Sender one = new Sender(SmartProfile.token("system/*.cruds", claims));
      for (String path : List.of("/fhir/Patient", "/", "/fhir/export/x", "/cds-services")) {
        Answer refused = one.get(path);
        assertEquals(403, refused.status(), claims + path);
        assertTrue(refused.body().contains("claim 'clinic'"), refused.body());
      }
      assertEquals(403, one.send("PUT", "/fhir/Patient/x", patient("x", "X")).status());
    }
    Sender wrong =
        new Sender(SmartProfile.token("system/*.rs", Map.of(TwoClinics.CLAIM, TwoClinics.NORTH)));
    assertEquals(401, wrong.get("/fhir/Patient").status(), "a token for the other's address");
  }

  /** What needs no token is that of the clinic whose address was asked. */
  @Test
  void eachAddressTellsItsOwnKeysAndBase() throws Exception {
    for (HttpClient.Version version : HttpClient.Version.values()) {
      String one = free(version, HERE + "/.well-known/jwks.json");
      String two = free(version, "http://127.0.0.1:8081/.well-known/jwks.json");
      assertNotEquals(
          JSON.readTree(one).at("/keys/0/kid").asText(),
          JSON.readTree(two).at("/keys/0/kid").asText());
      assertFalse(two.contains("\"d\""), "no private part");
    }
    for (String base : List.of(PlanPerson.BASE, TwoClinics.NORTH_BASE, PlanPerson.BASE)) {
      JsonNode statement =
          JSON.readTree(free(HttpClient.Version.HTTP_1_1, base + "/metadata?_format=json"));
      assertEquals(base, statement.at("/implementation/url").asText());
    }
    Answer made = b.send("POST", "/fhir/Patient", "{\"resourceType\":\"Patient\"}");
    assertTrue(made.header("Location").startsWith(TwoClinics.NORTH_BASE), made.header("Location"));
    assertTrue(
        b.get("/fhir/Organization/clinic").body().contains("The clinic in the north"),
        "its own name");
  }

  /** By HTTP/2 the host stands in the authority of the request; the second of two is all HTTP/2. */
  private static String free(HttpClient.Version version, String address) throws Exception {
    HttpClient client = HttpClient.newBuilder().version(version).build();
    HttpRequest request = HttpRequest.newBuilder(URI.create(address)).build();
    String first = client.send(request, HttpResponse.BodyHandlers.ofString()).body();
    HttpResponse<String> answer = client.send(request, HttpResponse.BodyHandlers.ofString());
    assertEquals(200, answer.statusCode(), answer.body());
    assertEquals(version, answer.version());
    assertFalse(first.isEmpty());
    return answer.body();
  }

  // ---- the bridge ----

  /** A plan goes to the other clinic by a document, and in no other way. */
  @Test
  void aHandoverIsTheOnlyBridge() {
    PlanPerson moving = PlanPerson.enrolled();
    moving.settled(1, 2);
    String plan = TwoClinics.planOf(moving);
    Answer document = a.get("/fhir/CarePlan/" + plan + "/$handover");
    assertEquals(200, document.status(), document.body());
    assertEquals(404, b.get("/fhir/CarePlan/" + plan).status());
    Answer received = b.send("POST", "/fhir/$receive-handover", document.body());
    assertEquals(200, received.status(), received.body());
    Resource there = TwoClinics.resource(b.get("/fhir/CarePlan/" + plan), CarePlan.class);
    assertEquals("active", ((CarePlan) there).getStatus().toCode());
    Parameters one = next(a, plan);
    Parameters other = next(b, plan);
    assertEquals(asked(one), asked(other), "both would prescribe the same");
    String back = b.get("/fhir/CarePlan/" + plan + "/$handover").body();
    Answer refused = a.send("POST", "/fhir/$receive-handover", back);
    assertTrue(refused.body().contains("not-trusted"), "the first trusts no other: " + refused);
    Answer tampered =
        b.send("POST", "/fhir/$receive-handover", document.body().replace("Brandvik", "Brandvig"));
    assertTrue(tampered.body().contains("not-trusted"), tampered.body());
  }

  private static Parameters next(Sender sender, String plan) {
    return TwoClinics.resource(
        sender.get("/fhir/CarePlan/" + plan + "/$next-prescription"), Parameters.class);
  }

  private static List<String> asked(Parameters next) {
    return next.getParameter().stream()
        .filter(part -> part.getResource() instanceof org.hl7.fhir.r4.model.ServiceRequest)
        .map(
            part -> ((org.hl7.fhir.r4.model.ServiceRequest) part.getResource()).getCode().getText())
        .toList();
  }
}
