package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.io.ByteArrayInputStream;
import java.io.IOException;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpResponse;
import java.nio.charset.StandardCharsets;
import java.time.Instant;
import java.util.ArrayList;
import java.util.Date;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.TreeMap;
import java.util.TreeSet;
import java.util.UUID;
import java.util.concurrent.CompletableFuture;
import java.util.concurrent.CountDownLatch;
import java.util.concurrent.TimeUnit;
import java.util.zip.GZIPInputStream;
import org.hibernate.StatelessSession;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Group;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Period;
import org.hl7.fhir.r4.model.Reference;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.application.Dividing;
import org.tidemark.application.PaperFiling;
import org.tidemark.application.Records;
import org.tidemark.clinic.ActingClinic;
import org.tidemark.clinic.ActsForHome;
import org.tidemark.http.Sender.Answer;

/**
 * Exports as FHIR Bulk Data Access 2.0 (STU 2, "Bulk Data Export Operation Request Flow") has them,
 * by plain HTTP. A file of the tests has ten records at the most.
 */
@ExtendWith(ActsForHome.class)
@QuarkusTest
@TestProfile(SmartProfile.class)
class ExportTest {
  private static final String OF_JOB = "clinic = '" + ActsForHome.HOME + "' and job_id = :id";

  private static final ObjectMapper JSON = new ObjectMapper();
  private static final String HERE = "http://localhost:8081";
  private static final int FILE_RECORDS = 10;
  private static final int TRIES = 300;

  @Inject PaperFiling papers;
  @Inject Dividing dividing;
  @Inject Records records;
  @Inject StatelessSession session;
  private TwoPeople people;

  @BeforeEach
  void people() {
    people = TwoPeople.seeded(papers);
  }

  @AfterEach
  void open() {
    TwoPeople.leave();
  }

  private static Sender with(String scopes) {
    return new Sender(SmartProfile.token(scopes, (String) null));
  }

  private Sender all() {
    return people.all();
  }

  private static Answer ask(Sender sender, String path) {
    return sender.send("GET", "/fhir" + path, null, "Prefer", "respond-async");
  }

  /** Begins an export; returns where it is. */
  private static String begin(Sender sender, String path) {
    Answer answer = ask(sender, path);
    assertEquals(202, answer.status(), answer.body());
    String place = answer.header("Content-Location");
    assertTrue(place.startsWith(HERE + "/fhir/export/"), place);
    return place.substring(HERE.length());
  }

  /** Waits until an export is done. */
  private static JsonNode manifest(Sender sender, String place) throws Exception {
    Answer answer = sender.get(place);
    for (int i = 0; answer.status() == 202 && i < TRIES; i++) {
      assertTrue(answer.header("X-Progress").length() < 100, "shorter than 100 characters");
      assertFalse(answer.header("X-Progress").isEmpty());
      assertTrue(Integer.parseInt(answer.header("Retry-After")) > 0);
      Thread.sleep(100);
      answer = sender.get(place);
    }
    assertEquals(200, answer.status(), answer.body());
    assertTrue(answer.header("Content-Type").startsWith("application/json"));
    assertFalse(answer.header("Expires").isEmpty());
    return JSON.readTree(answer.body());
  }

  private JsonNode export(String path) throws Exception {
    return manifest(all(), begin(all(), path));
  }

  private List<String> lines(JsonNode file) {
    Answer answer = all().get(file.get("url").asText().substring(HERE.length()));
    assertEquals(200, answer.status(), answer.body());
    assertEquals("application/fhir+ndjson", answer.header("Content-Type"));
    assertTrue(answer.body().endsWith("\n"));
    List<String> lines = answer.body().lines().toList();
    if (file.has("count")) {
      assertEquals(file.get("count").asInt(), lines.size());
    }
    return lines;
  }

  /** The texts of all records, by their names. */
  private Map<String, JsonNode> exported(JsonNode manifest) throws IOException {
    Map<String, JsonNode> exported = new TreeMap<>();
    for (JsonNode file : manifest.get("output")) {
      List<String> lines = lines(file);
      assertFalse(lines.isEmpty(), "a file without records is none");
      assertTrue(lines.size() <= FILE_RECORDS || !file.has("count"));
      for (String line : lines) {
        JsonNode resource = JSON.readTree(line);
        assertEquals(file.get("type").asText(), resource.get("resourceType").asText());
        String name = resource.get("resourceType").asText() + "/" + resource.get("id").asText();
        assertEquals(null, exported.put(name, resource), name + " comes once");
      }
    }
    return exported;
  }

  /** What a search finds, on all its pages. */
  private Set<String> found(String search) {
    Set<String> found = new TreeSet<>();
    String page = "/fhir/" + search;
    while (page != null) {
      Bundle bundle =
          PlanPerson.CONTEXT.newJsonParser().parseResource(Bundle.class, all().get(page).body());
      bundle
          .getEntry()
          .forEach(
              entry ->
                  found.add(
                      entry.getResource().getIdElement().toUnqualifiedVersionless().getValue()));
      page =
          bundle.getLink("next") == null
              ? null
              : bundle.getLink("next").getUrl().substring(HERE.length());
    }
    return found;
  }

  private static Set<String> ofType(Set<String> names, String type) {
    Set<String> some = new TreeSet<>(names);
    some.removeIf(name -> !name.startsWith(type + "/"));
    return some;
  }

  private static Set<String> types(Set<String> names) {
    Set<String> types = new TreeSet<>();
    names.forEach(name -> types.add(name.substring(0, name.indexOf('/'))));
    return types;
  }

  private Observation pulse() {
    Observation pulse = people.a().painScore(PlanPerson.at(1, "10:00"), 1);
    pulse.getCode().getCodingFirstRep().setCode("8867-4");
    pulse.addIdentifier().setSystem("https://ward.example").setValue(UUID.randomUUID().toString());
    return pulse;
  }

  // ---- what is exported ----

  @Test
  void theSystemIsExportedWholeAndAsItIsStored() throws Exception {
    JsonNode manifest = export("/$export?_outputFormat=ndjson");
    assertTrue(manifest.get("requiresAccessToken").asBoolean());
    assertEquals(HERE + "/fhir/$export?_outputFormat=ndjson", manifest.get("request").asText());
    assertEquals(0, manifest.get("error").size());
    assertTrue(Instant.parse(manifest.get("transactionTime").asText()).isBefore(Instant.now()));
    Map<String, JsonNode> exported = exported(manifest);
    for (String type : List.of("Patient", "Observation", "Provenance", "Device", "CodeSystem")) {
      assertEquals(found(type + "?_count=500&_sort=_id"), ofType(exported.keySet(), type), type);
    }
    assertFalse(types(exported.keySet()).contains("Binary"));
    String observation = ofType(exported.keySet(), "Observation").iterator().next();
    assertEquals(
        JSON.readTree(all().get("/fhir/" + observation).body()), exported.get(observation));
    JsonNode paper = exported.get(ofType(exported.keySet(), "DocumentReference").iterator().next());
    String url = paper.at("/content/0/attachment/url").asText();
    assertTrue(url.startsWith(HERE + "/fhir/Binary/"), "absolute: " + url);
    assertEquals(200, all().get(url.substring(HERE.length())).status());
  }

  @Test
  void peopleAreExportedWithWhatHelpsToReadThem() throws Exception {
    Map<String, JsonNode> exported = exported(export("/Patient/$export"));
    for (String type : List.of("Patient", "Observation", "CarePlan", "Task")) {
      String about = type.equals("Patient") ? "Patient?" : type + "?patient:missing=false&";
      assertEquals(found(about + "_count=500&_sort=_id"), ofType(exported.keySet(), type), type);
    }
    Set<String> types = types(exported.keySet());
    assertTrue(types.containsAll(Set.of("Provenance", "Organization", "Device", "PlanDefinition")));
    assertFalse(types.contains("CodeSystem"));
    assertEquals(400, ask(all(), "/Patient/$export?_type=PlanDefinition").status());
  }

  @Test
  void onlyTheTypesAskedForAreExported() throws Exception {
    JsonNode manifest = export("/$export?_type=Goal,Flag&_type=Patient");
    assertEquals(Set.of("Flag", "Goal", "Patient"), types(exported(manifest).keySet()));
    String body =
        "{\"resourceType\":\"Parameters\",\"parameter\":[{\"name\":\"_type\",\"valueString\":"
            + "\"Goal\"}]}";
    Answer posted = all().send("POST", "/fhir/$export", body, "Prefer", "respond-async");
    assertEquals(202, posted.status(), posted.body());
    JsonNode second = manifest(all(), posted.header("Content-Location").substring(HERE.length()));
    assertEquals(HERE + "/fhir/$export", second.get("request").asText());
    assertEquals(Set.of("Goal"), types(exported(second).keySet()));
  }

  @Test
  void aFilterIsASearchAndSeveralOfATypeAreAlternatives() throws Exception {
    String item = "https://tidemark.example/fhir/CodeSystem/report-item|";
    String session = "code=" + item + "session";
    String morning = "code=" + item + "morning&patient=" + people.a().subject;
    String filters =
        ("Observation?" + session + ",Observation?" + morning)
            .replace("&", "%26")
            .replace("=", "%3D")
            .replace("?", "%3F");
    JsonNode manifest = export("/$export?_type=Observation,Goal&_typeFilter=" + filters);
    Set<String> expected = found("Observation?_count=500&_sort=_id&" + session);
    expected.addAll(found("Observation?_count=500&_sort=_id&" + morning));
    Map<String, JsonNode> exported = exported(manifest);
    assertEquals(expected, ofType(exported.keySet(), "Observation"));
    assertEquals(found("Goal?_count=500&_sort=_id"), ofType(exported.keySet(), "Goal"));
  }

  // ---- a Group ----

  /** A Group of these people, in which others have been. */
  private String group(List<PlanPerson> in, List<PlanPerson> formerly) {
    Group group = new Group().setType(Group.GroupType.PERSON).setActual(true);
    in.forEach(person -> group.addMember().getEntity().setReference(person.subject));
    formerly.forEach(
        person -> group.addMember().setInactive(true).getEntity().setReference(person.subject));
    Answer made = all().send("POST", "/fhir/Group", PlanPerson.json(group));
    assertEquals(201, made.status(), made.body());
    return "Group/" + idAt(made);
  }

  private static String idAt(Answer made) {
    return made.header("Location").replaceAll(".*/Group/|/_history.*", "");
  }

  @Test
  void ofAGroupIsExportedWhatIsAboutItsMembersAlone() throws Exception {
    String name = group(List.of(people.a()), List.of(people.b()));
    Map<String, JsonNode> exported = exported(export("/" + name + "/$export"));
    Set<String> aboutA = found(people.a().subject + "/$everything?_count=500");
    for (String type : List.of("Patient", "Observation", "CarePlan", "Task", "Provenance")) {
      assertEquals(ofType(aboutA, type), ofType(exported.keySet(), type), type);
      assertFalse(ofType(aboutA, type).isEmpty(), type);
    }
    exported.forEach(
        (of, json) ->
            people.ofB().forEach(id -> assertFalse(json.toString().contains(id), of + " " + id)));
    assertTrue(types(exported.keySet()).containsAll(Set.of("Organization", "Device")));
    assertFalse(types(exported.keySet()).contains("Group"), "others name others");
  }

  @Test
  void aGroupIsExportedByAFilterToo() throws Exception {
    String name = group(List.of(people.a()), List.of());
    JsonNode manifest =
        export("/" + name + "/$export?_type=Observation&_typeFilter=Observation%3Fstatus%3Dfinal");
    assertEquals(
        found("Observation?status=final&_count=500&patient=" + people.a().subject),
        exported(manifest).keySet());
  }

  @Test
  void whoIsAMemberIsDecidedWhenAnExportIsAskedFor() throws Exception {
    String name = group(List.of(people.a()), List.of());
    JsonNode manifest = export("/" + name + "/$export?_type=Patient");
    Group later = new Group().setType(Group.GroupType.PERSON).setActual(true);
    later.setId(TwoPeople.id(name));
    later.addMember().getEntity().setReference(people.b().subject);
    later
        .addMember()
        .setPeriod(new Period().setEnd(new Date(1_000)))
        .getEntity()
        .setReference(people.a().subject);
    assertEquals(200, all().send("PUT", "/fhir/" + name, PlanPerson.json(later)).status());
    assertEquals(Set.of(people.a().subject), exported(manifest).keySet());
    assertEquals(
        Set.of(people.b().subject),
        exported(export("/" + name + "/$export?_type=Patient")).keySet());
  }

  /** A member may be known by a number alone. */
  @Test
  void whoIsNotReferredToIsNoMemberOfAnExport() throws Exception {
    Group group = new Group().setType(Group.GroupType.PERSON).setActual(true);
    group.addMember().getEntity().setReference(people.a().subject);
    group.addMember().getEntity().getIdentifier().setSystem("https://ward.example").setValue("7");
    Answer made = all().send("POST", "/fhir/Group", PlanPerson.json(group));
    assertEquals(201, made.status(), made.body());
    assertEquals(
        Set.of(people.a().subject),
        exported(export("/Group/" + idAt(made) + "/$export?_type=Patient")).keySet());
  }

  @Test
  void ofAGroupTheDeletionsOfItsMembersCome() throws Exception {
    String name = group(List.of(people.a()), List.of());
    Observation ofA = people.a().send(pulse());
    Observation ofB = people.b().send(pulse().setSubject(new Reference(people.b().subject)));
    String since = ofB.getMeta().getLastUpdatedElement().getValueAsString().replace("+", "%2B");
    for (Observation gone : List.of(ofA, ofB)) {
      all().send("DELETE", "/fhir/Observation/" + gone.getIdElement().getIdPart(), null);
    }
    JsonNode manifest = export("/" + name + "/$export?_type=Observation&_since=" + since);
    String deleted = String.join("", lines(manifest.at("/deleted/0")));
    assertTrue(deleted.contains(ofA.getIdElement().getIdPart()));
    assertFalse(deleted.contains(ofB.getIdElement().getIdPart()));
  }

  @Test
  void aGroupWithoutAListOfMembersIsNotExported() {
    Group described = new Group().setType(Group.GroupType.PERSON).setActual(false);
    described
        .addCharacteristic()
        .setExclude(false)
        .setCode(new CodeableConcept().setText("in the programme"))
        .setValue(new BooleanType(true));
    Answer made = all().send("POST", "/fhir/Group", PlanPerson.json(described));
    assertEquals(201, made.status(), made.body());
    String id = idAt(made);
    Answer refused = ask(all(), "/Group/" + id + "/$export");
    assertEquals(422, refused.status(), refused.body());
    assertTrue(refused.body().contains("Group.actual"), refused.body());
    assertEquals(404, ask(all(), "/Group/nobody-knows/$export").status());
    assertEquals(400, ask(all(), "/Group/" + id + "/$export?_type=Group,Task").status());
  }

  /** It names others. */
  @Test
  void whoReachesOnlyTheirOwnRecordsReachesNoGroup() {
    String name = group(List.of(people.a(), people.b()), List.of());
    Sender a = new Sender(SmartProfile.token("patient/*.cruds", TwoPeople.id(people.a().subject)));
    assertEquals(404, a.get("/fhir/" + name).status());
    for (String search : List.of("Group?", "Patient?_revinclude=Group:member&", "_history?")) {
      Answer found = a.get("/fhir/" + search + "_count=500");
      assertEquals(200, found.status(), found.body());
      assertFalse(found.body().contains(TwoPeople.id(name)), search);
    }
    assertEquals(403, ask(a, "/" + name + "/$export").status());
    Group own = new Group().setType(Group.GroupType.PERSON).setActual(true);
    own.addMember().getEntity().setReference(people.a().subject);
    assertEquals(403, a.send("POST", "/fhir/Group", PlanPerson.json(own)).status());
    Sender noGroups = with("system/Patient.rs");
    assertEquals(403, ask(noGroups, "/" + name + "/$export?_type=Patient").status());
  }

  // ---- the moment ----

  @Test
  void whatIsWrittenAfterwardsChangesNoFile() throws Exception {
    Observation changed = people.a().send(pulse());
    Observation deleted = people.a().send(pulse());
    JsonNode manifest = export("/$export?_type=Observation");
    Map<String, JsonNode> before = exported(manifest);
    String name = changed.getIdElement().toUnqualifiedVersionless().getValue();
    Observation next = pulse();
    next.setId(changed.getIdElement().getIdPart());
    next.getIdentifierFirstRep().setValue("later");
    for (int i = 0; i < 3; i++) {
      next.getValueQuantity().setValue(2 + i);
      assertEquals(200, all().send("PUT", "/fhir/" + name, PlanPerson.json(next)).status());
    }
    String gone = deleted.getIdElement().toUnqualifiedVersionless().getValue();
    assertTrue(all().send("DELETE", "/fhir/" + gone, null).status() < 300);
    people.a().send(pulse());
    assertTrue(before.containsKey(name) && before.containsKey(gone));
    assertEquals(before, exported(manifest));
  }

  /** "Resources will be included if their state has changed after the supplied time." */
  @Test
  void changesSinceAMomentComeWithWhatHasBeenDeleted() throws Exception {
    Observation old = people.a().send(pulse());
    Observation deleted = people.a().send(pulse());
    String since = deleted.getMeta().getLastUpdatedElement().getValueAsString();
    Thread.sleep(2);
    Observation fresh = people.a().send(pulse());
    String gone = deleted.getIdElement().toUnqualifiedVersionless().getValue();
    all().send("DELETE", "/fhir/" + gone, null);
    JsonNode manifest =
        export("/$export?_type=Observation,Goal&_since=" + since.replace("+", "%2B"));
    Set<String> names = exported(manifest).keySet();
    assertTrue(names.contains(fresh.getIdElement().toUnqualifiedVersionless().getValue()));
    assertFalse(names.contains(old.getIdElement().toUnqualifiedVersionless().getValue()));
    assertFalse(names.contains(gone), "deleted");
    List<String> deletions = lines(manifest.get("deleted").get(0));
    assertEquals("Bundle", manifest.get("deleted").get(0).get("type").asText());
    JsonNode bundle = JSON.readTree(deletions.get(0));
    assertEquals("transaction", bundle.get("type").asText());
    assertEquals("DELETE", bundle.at("/entry/0/request/method").asText());
    assertEquals(gone, bundle.at("/entry/0/request/url").asText());
    assertEquals(0, export("/$export?_type=Observation").get("deleted").size());
  }

  /**
   * A record is stamped before its transaction is over; a moment that has passed stays as it is.
   */
  @Test
  void whatIsBeingWrittenIsWaitedFor() throws Exception {
    CountDownLatch written = new CountDownLatch(1);
    CountDownLatch goOn = new CountDownLatch(1);
    Observation late = pulse();
    CompletableFuture<Void> writer =
        CompletableFuture.runAsync(
            () ->
                ActingClinic.during(
                    ActsForHome.HOME,
                    () ->
                        QuarkusTransaction.requiringNew()
                            .run(
                                () -> {
                                  records.put(late);
                                  written.countDown();
                                  await(goOn);
                                })));
    await(written);
    String place = begin(all(), "/$export?_type=Observation");
    Thread.sleep(3_500);
    assertEquals(202, all().get(place).status());
    goOn.countDown();
    writer.get();
    assertTrue(exported(manifest(all(), place)).containsKey("Observation/" + late.getIdPart()));
  }

  private static void await(CountDownLatch latch) {
    try {
      assertTrue(latch.await(60, TimeUnit.SECONDS));
    } catch (InterruptedException e) {
      throw new IllegalStateException(e);
    }
  }

  /** As after a crash: another process goes on after the last file that was noted. */
  @Test
  void anExportThatWasLeftIsGoneOnWith() throws Exception {
    String place = begin(all(), "/$export?_type=Goal,Observation,Task");
    JsonNode whole = manifest(all(), place);
    String id = place.substring(place.lastIndexOf('/') + 1);
    List<Object[]> full =
        QuarkusTransaction.requiringNew()
            .call(
                () ->
                    session
                        .createNativeQuery(
                            "select file_number, last_id from export_file where "
                                + OF_JOB
                                + " and resource_type = 'Observation' and records = :full"
                                + " order by file_number",
                            Object[].class)
                        .setParameter("id", id)
                        .setParameter("full", FILE_RECORDS)
                        .list());
    int number = ((Number) full.get(0)[0]).intValue();
    QuarkusTransaction.requiringNew()
        .run(
            () -> {
              change(
                  "delete from export_file where " + OF_JOB + " and file_number > " + number, id);
              change(
                  "update export_job set type_index = 1, lease_ms = 0, files = "
                      + number
                      + ", reached_id = '"
                      + full.get(0)[1]
                      + "' where "
                      + OF_JOB,
                  id);
            });
    Answer between = all().get(place);
    assertEquals(202, between.status());
    assertTrue(between.header("X-Progress").startsWith("33 %"), between.header("X-Progress"));
    assertEquals(404, all().get(place + "/1.ndjson").status(), "not before all is divided");
    dividing.divide();
    assertEquals(whole, manifest(all(), place));
  }

  private void change(String statement, String id) {
    session.createNativeMutationQuery(statement).setParameter("id", id).executeUpdate();
  }

  // ---- its end ----

  @Test
  void aCancelledExportIsGone() throws Exception {
    String place = begin(all(), "/$export?_type=Goal");
    JsonNode manifest = manifest(all(), place);
    assertEquals(202, all().send("DELETE", place, null).status());
    Answer gone = all().get(place);
    assertEquals(404, gone.status());
    assertTrue(gone.body().contains("\"OperationOutcome\""), gone.body());
    String file = manifest.at("/output/0/url").asText().substring(HERE.length());
    assertEquals(404, all().get(file).status());
    assertEquals(404, all().send("DELETE", place, null).status());
  }

  @Test
  void anExportEndsByItself() throws Exception {
    String place = begin(all(), "/$export?_type=Goal");
    manifest(all(), place);
    String id = place.substring(place.lastIndexOf('/') + 1);
    long now = System.currentTimeMillis();
    QuarkusTransaction.requiringNew()
        .run(() -> change("update export_job set ends_ms = " + now + " where " + OF_JOB, id));
    assertEquals(404, all().get(place).status());
    dividing.divide();
    long left =
        QuarkusTransaction.requiringNew()
            .call(
                () ->
                    session
                        .createNativeQuery(
                            "select count(*) from export_file where " + OF_JOB, Long.class)
                        .setParameter("id", id)
                        .uniqueResult());
    assertEquals(0, left);
  }

  @Test
  void aFileIsSentZippedToWhomTakesIt() throws Exception {
    JsonNode file = export("/$export?_type=Goal").at("/output/0");
    HttpResponse<byte[]> zipped =
        HttpClient.newHttpClient()
            .send(
                HttpRequest.newBuilder(URI.create(file.get("url").asText()))
                    .header("Accept-Encoding", "gzip")
                    .header(
                        "Authorization",
                        "Bearer " + SmartProfile.token("system/*.rs", (String) null))
                    .build(),
                HttpResponse.BodyHandlers.ofByteArray());
    assertEquals("gzip", zipped.headers().firstValue("Content-Encoding").orElse(""));
    String text =
        new String(
            new GZIPInputStream(new ByteArrayInputStream(zipped.body())).readAllBytes(),
            StandardCharsets.UTF_8);
    assertEquals(new ArrayList<>(lines(file)), text.lines().toList());
  }

  // ---- who may ----

  @ParameterizedTest(name = "{0} {1}: {2}")
  @CsvSource({
    "system/*.rs, /$export, 202",
    "user/*.rs, /$export, 202",
    "system/*.r, /$export, 403",
    "system/*.s, /$export, 403",
    "patient/*.rs, /$export, 403",
    "patient/*.rs, /Patient/$export, 403",
    "system/Goal.rs, /$export?_type=Goal, 202",
    "system/Goal.rs, '/$export?_type=Goal,Task', 403",
    "system/Observation.rs?category=activity, /$export?_type=Observation, 403",
    "system/*.cud, /$export, 403",
  })
  void eachTypeIsExportedToWhomMayReadAndSearchAllOfIt(String scopes, String path, int status) {
    Sender sender = new Sender(SmartProfile.token(scopes, TwoPeople.id(people.a().subject)));
    assertEquals(status, ask(sender, path).status());
  }

  @Test
  void whatATokenMayNotReadWholeIsLeftOutUnlessItIsAskedFor() throws Exception {
    Sender some = with("system/Goal.rs system/Flag.rs system/Task.r");
    JsonNode manifest = manifest(some, begin(some, "/$export"));
    assertEquals(Set.of("Flag", "Goal"), types(exported(manifest).keySet()));
  }

  @Test
  void anExportIsLookedAtByWhomMayReadAllOfIt() throws Exception {
    String place = begin(all(), "/$export?_type=Goal,Task");
    JsonNode manifest = manifest(all(), place);
    Sender some = with("system/Goal.rs");
    assertEquals(403, some.get(place).status());
    assertEquals(403, some.send("DELETE", place, null).status());
    for (JsonNode file : manifest.get("output")) {
      String url = file.get("url").asText().substring(HERE.length());
      int status = file.get("type").asText().equals("Goal") ? 200 : 403;
      assertEquals(status, some.get(url).status());
      assertEquals(401, new Sender(null).get(url).status());
    }
    assertEquals(401, new Sender(null).get(place).status());
  }

  // ---- what is refused ----

  @ParameterizedTest(name = "{0}: {1}")
  @CsvSource({
    "_type=Encounter, _type",
    "_type=Binary, _type",
    "_outputFormat=text/csv, _outputFormat",
    "_since=soon, _since",
    "_elements=id, _elements",
    "_typeFilter=Goal%3Fcolour%3Dred, colour",
    "_typeFilter=Goal%3F_sort%3D_id, _typeFilter",
    "_typeFilter=Goal, _typeFilter",
    "'_type=Task&_typeFilter=Goal%3F_id%3Dx', _typeFilter",
  })
  void whatIsNotOfferedIsNamed(String query, String named) {
    Answer answer = ask(all(), "/$export?" + query);
    assertEquals(400, answer.status(), answer.body());
    assertTrue(answer.body().contains("\"expression\":[\"" + named + "\"]"), answer.body());
  }

  @Test
  void anExportIsOnlyAskedForAsynchronously() {
    assertEquals(400, all().get("/fhir/$export").status());
    assertEquals(
        202,
        all()
            .send(
                "GET", "/fhir/$export?_type=Goal", null, "Prefer", "handling=strict, respond-async")
            .status());
  }

  @ParameterizedTest
  @ValueSource(
      strings = {
        "/fhir/export",
        "/fhir/export/",
        "/fhir/export/x",
        "/fhir/export/00000000-0000-0000-0000-000000000000",
        "/fhir/export/00000000-0000-0000-0000-000000000000/1.ndjson",
        "/fhir/export/00000000-0000-0000-0000-000000000000/0.ndjson",
        "/fhir/export/00000000-0000-0000-0000-000000000000/../../Patient",
      })
  void whereNoExportIsNothingIsFound(String path) {
    Answer answer = all().get(path);
    assertEquals(404, answer.status(), answer.body());
    assertTrue(answer.body().contains("\"OperationOutcome\""), answer.body());
  }

  @Test
  void anExportIsNotWritten() {
    String place = begin(all(), "/$export?_type=Goal");
    assertEquals(405, all().send("PUT", place, "{}").status());
    assertEquals(405, all().send("DELETE", place + "/1.ndjson", null).status());
  }
}
