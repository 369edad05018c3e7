package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.util.List;
import java.util.UUID;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.DocumentReference;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.QuestionnaireResponse;
import org.hl7.fhir.r4.model.Reference;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.application.PaperFiling;
import org.tidemark.http.Sender.Answer;

/**
 * Of somebody else a token for one person shows nothing, by whatever way: no record, no number, no
 * difference between what is hidden and what is not there. A token with conditions sees what meets
 * them and no more.
 */
@QuarkusTest
@TestProfile(SmartProfile.class)
class OtherPersonTest {
  private static final List<String> ABOUT_PEOPLE =
      List.of(
          "CarePlan",
          "DetectedIssue",
          "DocumentReference",
          "Flag",
          "Goal",
          "GuidanceResponse",
          "Observation",
          "RiskAssessment",
          "ServiceRequest",
          "Task");

  @Inject PaperFiling papers;
  private TwoPeople people;
  private Sender ofA;

  @BeforeEach
  void people() {
    people = TwoPeople.seeded(papers);
    ofA = new Sender(SmartProfile.token("patient/*.cruds", TwoPeople.id(people.a().subject)));
  }

  @AfterEach
  void open() {
    TwoPeople.leave();
  }

  /** No id of B stands in an answer, except for one that was asked for. */
  private Answer hidesB(Answer answer, String... asked) {
    String body = answer.body();
    for (String id : asked) {
      body = body.replace(id, "");
    }
    for (String id : people.ofB()) {
      assertFalse(body.contains(id), () -> "shows " + id + ": " + answer.body());
    }
    return answer;
  }

  private Answer hidesB(String path) {
    return hidesB(ofA.get(path));
  }

  @Test
  void case44SearchesFindAndCountWhatIsAboutOneself() {
    for (String type : ABOUT_PEOPLE) {
      String about = "?patient=" + people.a().subject + "&_summary=count";
      int number = people.all().get("/fhir/" + type + about).total();
      assertTrue(number > 0, type);
      assertEquals(number, hidesB("/fhir/" + type + "?_total=accurate&_count=500").total(), type);
      assertEquals(number, hidesB("/fhir/" + type + "?_summary=count").total(), type);
      assertEquals(number, hidesB("/fhir/" + type + "?_lastUpdated=gt2000&_count=0").total(), type);
      String b = people.b().subject;
      Answer asked = ofA.get("/fhir/" + type + "?patient=" + b + "&_total=accurate");
      assertEquals(0, hidesB(asked, TwoPeople.id(b)).total(), type);
      String notA = "?patient:missing=false&_total=accurate&_sort=_id&_count=500";
      assertEquals(number, hidesB("/fhir/" + type + notA).total(), type);
      String id = people.ofB(type);
      assertEquals(
          0, hidesB(ofA.get("/fhir/" + type + "?_id=" + id + "&_total=accurate"), id).total());
    }
    assertEquals(1, hidesB("/fhir/Patient?_total=accurate").total());
  }

  /** What is about nobody is there for everyone, and is not written. */
  @Test
  void definitionsAreRead() {
    assertEquals(200, ofA.get("/fhir/PlanDefinition/knee-deep-flexion").status());
    assertTrue(hidesB("/fhir/PlanDefinition?_total=accurate").total() > 0);
    assertTrue(hidesB("/fhir/Device").body().contains("Device/"));
    assertEquals(403, ofA.send("DELETE", "/fhir/Organization/tidemark", null).status());
    assertEquals(
        403,
        ofA.send("POST", "/fhir/Organization", "{\"resourceType\":\"Organization\",\"name\":\"x\"}")
            .status());
  }

  /** A plan is handed over with its whole record, so that all of it must be readable. */
  @Test
  void plansAreHandedOverToWhomTheirWholeRecordIsOpen() {
    String b = people.ofB("CarePlan");
    assertEquals(404, hidesB(ofA.get("/fhir/CarePlan/" + b + "/$handover"), b).status());
    String own = "/fhir/CarePlan/" + people.a().plan().getIdElement().getIdPart() + "/$handover";
    assertEquals(200, hidesB(own).status());
    String part = "system/CarePlan.rs system/Patient.rs system/Observation.rs";
    assertEquals(403, hidesB(with(part).get(own)).status());
    assertEquals(200, with("system/*.rs").get(own).status());
  }

  /** An endpoint needs no token, so that its subscription must be written by who may see all. */
  @ParameterizedTest
  @CsvSource({
    "system/Subscription.cruds, Observation?code=72514-3, 403",
    "system/Subscription.cruds system/Observation.rs?category=activity, Observation?, 403",
    "system/Subscription.cruds system/Observation.rs, Observation?code=72514-3, 422",
    "system/Subscription.cruds system/Observation.rs, plan-changed, 403",
    "system/*.cruds, plan-changed, 422"
  })
  void subscriptionsTellOfNothingThatTheirWriterMayNotSee(
      String scopes, String criteria, int status) {
    String topic = "https://tidemark.example/fhir/SubscriptionTopic/";
    String body =
        """
        {"resourceType": "Subscription", "status": "requested", "reason": "r", "criteria": "%s",
         "channel": {"type": "rest-hook", "endpoint": "http://127.0.0.1:1/", "payload":
         "application/fhir+json", "_payload": {"extension": [{"valueCode": "id-only", "url":
         "http://hl7.org/fhir/uv/subscriptions-backport/StructureDefinition/backport-payload-content"}]}}}"""
            .formatted(criteria.contains("?") ? criteria : topic + criteria);
    Answer answer = with(scopes).send("POST", "/fhir/Subscription", body);
    assertEquals(status, answer.status(), answer.body());
    assertEquals(status == 422, answer.body().contains("Subscription.channel.endpoint"));
  }

  private static Sender with(String scopes) {
    return new Sender(SmartProfile.token(scopes, (String) null));
  }

  @Test
  void linksLeadToNothingOfB() {
    Observation pointing = people.a().painScore(PlanPerson.at(2, "10:00"), 1);
    pointing.getCode().getCodingFirstRep().setCode("8867-4");
    pointing.addFocus(new Reference("Observation/" + people.ofB("Observation")));
    pointing.addDerivedFrom(new Reference("Observation/" + people.ofB("Observation")));
    Observation sent = people.a().send(pointing);
    String asked = people.ofB("Observation");
    Answer along = ofA.get("/fhir/Observation?_include=Observation:derived-from&_count=100");
    assertEquals(200, along.status());
    Bundle found = PlanPerson.CONTEXT.newJsonParser().parseResource(Bundle.class, along.body());
    assertTrue(
        found.getEntry().stream()
            .noneMatch(entry -> entry.getResource().getIdElement().getIdPart().equals(asked)));
    for (String path :
        List.of(
            "CarePlan?_include=CarePlan:goal&_include=CarePlan:activity-reference&_include=CarePlan:patient",
            "CarePlan?_revinclude=GuidanceResponse:patient&_revinclude=Task:focus",
            "Patient?_revinclude=Observation:patient&_revinclude=CarePlan:patient&_count=1",
            "Device?_revinclude=Provenance:target",
            "Task?_include=Task:focus&_include=Task:patient")) {
      Answer answer = ofA.get("/fhir/" + path);
      assertTrue(answer.status() == 200 || answer.status() == 400, path + answer.body());
      hidesB(answer, asked);
    }
    for (String path :
        List.of(
            "Patient?_has:Observation:patient:code=8867-4",
            "Observation?patient.identifier=x",
            "Observation?subject:Patient.name=Brandvik")) {
      assertEquals(400, hidesB("/fhir/" + path).status(), path);
    }
    people.all().send("DELETE", "/fhir/Observation/" + sent.getIdElement().getIdPart(), null);
  }

  /** What comes along needs a right too. */
  @Test
  void aLinkNeedsARightForWhatItBrings() {
    Sender plans = new Sender(SmartProfile.token("user/CarePlan.rs", (String) null));
    assertEquals(200, plans.get("/fhir/CarePlan").status());
    assertEquals(403, plans.get("/fhir/CarePlan?_include=CarePlan:goal").status());
    assertEquals(403, plans.get("/fhir/CarePlan?_revinclude=Provenance:target").status());
    Sender goals = new Sender(SmartProfile.token("user/CarePlan.rs user/Goal.r", (String) null));
    assertTrue(
        goals.get("/fhir/CarePlan?_include=CarePlan:goal").body().contains("\"mode\":\"include\""));
    assertEquals(403, goals.get("/fhir/CarePlan?_include=CarePlan:patient").status());
  }

  @Test
  void historiesShowNothingOfB() {
    assertEquals(200, hidesB("/fhir/_history?_count=500").status());
    String page = "/fhir/_history?_count=7";
    int pages = 0;
    while (page != null) {
      Answer answer = hidesB(page);
      Bundle past = PlanPerson.CONTEXT.newJsonParser().parseResource(Bundle.class, answer.body());
      page =
          past.getLink("next") == null
              ? null
              : past.getLink("next").getUrl().replace("http://localhost:8081", "");
      String cursor = page == null ? "" : page.substring(page.indexOf("_cursor=") + 8);
      String place = new String(java.util.Base64.getUrlDecoder().decode(cursor.split("&")[0]));
      people.ofB().forEach(id -> assertFalse(place.contains(id)));
      pages++;
    }
    assertTrue(pages > 3);
    for (String type : ABOUT_PEOPLE) {
      assertEquals(200, hidesB("/fhir/" + type + "/_history?_count=500").status());
    }
  }

  /** What is hidden is answered in the very words of what is not there. */
  @Test
  void whatIsHiddenIsAsIfItWereNotThere() {
    String none = UUID.randomUUID().toString();
    for (String type : ABOUT_PEOPLE) {
      String id = people.ofB(type);
      for (String rest : List.of("", "/_history/1", "/_history")) {
        alike(
            ofA.get("/fhir/" + type + "/" + id + rest),
            ofA.get("/fhir/" + type + "/" + none + rest),
            id,
            none,
            404);
      }
    }
    String b = people.ofB("CarePlan");
    for (String operation : List.of("$next-prescription", "$handout", "$progress-report")) {
      alike(
          ofA.get("/fhir/CarePlan/" + b + "/" + operation),
          ofA.get("/fhir/CarePlan/" + none + "/" + operation),
          b,
          none,
          404);
    }
    String person = TwoPeople.id(people.b().subject);
    String apply = "/fhir/PlanDefinition/knee-deep-flexion/$apply?side=left&subject=Patient/";
    alike(ofA.get(apply + person), ofA.get(apply + none), person, none, 422);
    assertEquals(200, ofA.get(apply + TwoPeople.id(people.a().subject)).status());
    String order = people.ofB("ServiceRequest");
    alike(answering(order), answering(none), order, none, 422);
    alike(performed(person), performed(none), person, none, 422);
    String report = people.ofB("Observation");
    String patch = "[{\"op\":\"test\",\"path\":\"/status\",\"value\":\"none\"}]";
    alike(patched(report, patch), patched(none, patch), report, none, 404);
    Observation session = people.a().session(9);
    session.setId((String) null);
    String update = PlanPerson.json(session);
    alike(updated(report, update), updated(none, update), report, none, 404);
  }

  private Answer patched(String id, String patch) {
    return ofA.send(
        "PATCH",
        "/fhir/Observation/" + id,
        patch,
        "Content-Type",
        "application/json-patch+json",
        "If-Match",
        "W/\"77\"");
  }

  private Answer updated(String id, String body) {
    return ofA.send(
        "PUT",
        "/fhir/Observation/" + id,
        body.replaceFirst("\\{", "{\"id\":\"" + id + "\","),
        "If-Match",
        "W/\"77\"");
  }

  private Answer answering(String order) {
    Observation session = people.a().session(9);
    session.addBasedOn(new Reference("ServiceRequest/" + order));
    return ofA.send("POST", "/fhir/Observation", PlanPerson.json(session));
  }

  private Answer performed(String person) {
    Observation session = people.a().session(9);
    session.addPerformer(new Reference("Patient/" + person));
    return ofA.send("POST", "/fhir/Observation", PlanPerson.json(session));
  }

  private static void alike(Answer hidden, Answer absent, String id, String none, int status) {
    assertEquals(status, absent.status(), absent.body());
    assertEquals(status, hidden.status(), hidden.body());
    assertEquals(absent.body().replace(none, "ID"), hidden.body().replace(id, "ID"));
  }

  @Test
  void papersAreOnesOwn() {
    String own = paper(people.a());
    assertEquals(200, ofA.get("/fhir/Binary/" + own).status());
    String other = paper(people.b());
    assertEquals(404, ofA.get("/fhir/Binary/" + other).status());
    assertEquals(
        404, ofA.send("GET", "/fhir/Binary/" + other, null, "Accept", "application/pdf").status());
    String plan = people.newest("CarePlan", people.a());
    assertEquals(200, ofA.get("/fhir/CarePlan/" + plan + "/$handout").status());
    Sender half = new Sender(SmartProfile.token("user/CarePlan.rs", (String) null));
    assertEquals(403, half.get("/fhir/CarePlan/" + plan + "/$handout").status());
    assertEquals(403, half.get("/fhir/CarePlan/" + plan + "/$next-prescription").status());
  }

  private String paper(PlanPerson person) {
    DocumentReference paper =
        PlanPerson.CONTEXT
            .newJsonParser()
            .parseResource(
                DocumentReference.class,
                people
                    .all()
                    .get("/fhir/DocumentReference/" + people.newest("DocumentReference", person))
                    .body());
    return TwoPeople.id(paper.getContentFirstRep().getAttachment().getUrl());
  }

  /** A key of another's is not seen, and does not stand in one's way. */
  @Test
  void anIdentifierOfAnotherIsFree() {
    String identifier = "https://ward.example|" + UUID.randomUUID();
    assertEquals(201, create(people.all(), people.b(), identifier).status(), "B's has it first");
    Answer created = create(ofA, people.a(), identifier);
    assertEquals(201, hidesB(created).status());
    assertEquals(200, create(ofA, people.a(), identifier).status(), "once for A");
    assertEquals(
        412, create(people.all(), people.a(), identifier).status(), "two for who sees both");
  }

  private static Answer create(Sender by, PlanPerson about, String identifier) {
    Observation report = about.painScore(PlanPerson.at(2, "11:00"), 1);
    report.getCode().getCodingFirstRep().setCode("8867-4");
    report
        .addIdentifier()
        .setSystem("https://ward.example")
        .setValue(identifier.substring(identifier.indexOf('|') + 1));
    return by.send(
        "POST",
        "/fhir/Observation",
        PlanPerson.json(report),
        "If-None-Exist",
        "identifier=" + identifier);
  }

  @Test
  void case44WhatIsAboutAnotherIsNotWritten() {
    for (Observation report : List.of(people.b().session(9), people.b().range(9, 90))) {
      assertEquals(403, ofA.send("POST", "/fhir/Observation", PlanPerson.json(report)).status());
    }
    Observation own = people.a().send(people.a().range(3, 96));
    own.setSubject(new Reference(people.b().subject));
    Answer moved =
        ofA.send(
            "PUT", "/fhir/Observation/" + own.getIdElement().getIdPart(), PlanPerson.json(own));
    assertEquals(403, moved.status(), moved.body());
    Bundle both = new Bundle().setType(Bundle.BundleType.TRANSACTION);
    for (PlanPerson person : List.of(people.a(), people.b())) {
      both.addEntry()
          .setResource(person.range(9, 97))
          .getRequest()
          .setMethod(Bundle.HTTPVerb.POST)
          .setUrl("Observation");
    }
    int before = count();
    Answer none = ofA.send("POST", "/fhir", PlanPerson.json(both));
    assertEquals(403, none.status());
    assertTrue(none.body().contains("Bundle.entry[1]"), none.body());
    assertEquals(before, count(), "nothing of the transaction");
    both.setType(Bundle.BundleType.BATCH);
    Answer each = ofA.send("POST", "/fhir", PlanPerson.json(both));
    Bundle answers = PlanPerson.CONTEXT.newJsonParser().parseResource(Bundle.class, each.body());
    assertEquals(
        List.of("201 Created", "403"),
        answers.getEntry().stream().map(entry -> entry.getResponse().getStatus()).toList());
    QuestionnaireResponse form = new QuestionnaireResponse();
    form.setStatus(QuestionnaireResponse.QuestionnaireResponseStatus.COMPLETED);
    form.setQuestionnaire("https://tidemark.example/fhir/Questionnaire/session");
    form.setSubject(new Reference(people.b().subject));
    assertEquals(
        403,
        ofA.send("POST", "/fhir/QuestionnaireResponse/$extract", PlanPerson.json(form)).status());
  }

  private int count() {
    return people.all().get("/fhir/Observation?_summary=count").total();
  }

  /** Case 83: what one may write one may not therefore read. */
  @Test
  void case83WhoOnlyCreatesReadsNothing() {
    Sender device = new Sender(SmartProfile.token("system/Observation.c", (String) null));
    Answer sent =
        device.send("POST", "/fhir/Observation", PlanPerson.json(people.a().range(5, 98)));
    assertEquals(201, sent.status());
    assertFalse(sent.body().contains("valueQuantity"), sent.body());
    String place = sent.header("Location").replace("http://localhost:8081", "");
    assertEquals(403, device.get(place).status());
    assertTrue(device.get(place).header("WWW-Authenticate").contains("insufficient_scope"));
    assertEquals(403, device.get("/fhir/CarePlan").status());
  }

  /** {@code system/Observation.rs?category=activity}: case 83, narrowed. */
  @Test
  void conditionsNarrow() {
    String category = "http://terminology.hl7.org/CodeSystem/observation-category|activity";
    int number = people.all().get("/fhir/Observation?_summary=count&category=" + category).total();
    assertTrue(number > 0 && number < count());
    Sender some =
        new Sender(
            SmartProfile.token("system/Observation.crus?category=" + category, (String) null));
    assertEquals(number, some.get("/fhir/Observation?_total=accurate&_count=1").total());
    Bundle found =
        PlanPerson.CONTEXT
            .newJsonParser()
            .parseResource(Bundle.class, some.get("/fhir/Observation?_count=500").body());
    assertEquals(number, found.getEntry().size());
    String seen = found.getEntryFirstRep().getResource().getIdElement().getIdPart();
    assertEquals(200, some.get("/fhir/Observation/" + seen).status());
    assertEquals(200, some.get("/fhir/Observation/" + seen + "/_history").status());
    String hidden = people.a().send(people.a().range(6, 99)).getIdElement().getIdPart();
    assertEquals(404, some.get("/fhir/Observation/" + hidden).status());
    assertEquals(404, some.get("/fhir/Observation/" + hidden + "/_history").status());
    assertEquals(404, some.get("/fhir/Observation/" + hidden + "/_history/1").status());
    assertEquals(403, some.get("/fhir/Observation/_history").status());
    Observation range = people.a().range(7, 99);
    assertEquals(403, some.send("POST", "/fhir/Observation", PlanPerson.json(range)).status());
    Sender own =
        new Sender(
            SmartProfile.token(
                "patient/Observation.rs?category=" + category, TwoPeople.id(people.a().subject)));
    int ofOwn =
        people
            .all()
            .get(
                "/fhir/Observation?_summary=count&patient="
                    + people.a().subject
                    + "&category="
                    + category)
            .total();
    assertEquals(ofOwn, hidesB(own.get("/fhir/Observation?_total=accurate")).total());
  }

  /**
   * A condition on something that is not offered is no right, and not a right without condition.
   */
  @ParameterizedTest
  @ValueSource(strings = {"date=2026", "patient=x", "value-quantity=5", "category=|", "nothing=x"})
  void aConditionThatIsNotUnderstoodGrantsNothing(String condition) {
    Sender some =
        new Sender(SmartProfile.token("system/Observation.rs?" + condition, (String) null));
    assertEquals(403, some.get("/fhir/Observation").status());
  }

  // ---- who has no token, and what needs none ----

  @Test
  void withoutAGoodTokenNothingIsRead() {
    Answer none = new Sender(null).get("/fhir/Patient");
    assertEquals(401, none.status());
    assertEquals("Bearer realm=\"tidemark\"", none.header("WWW-Authenticate"));
    assertTrue(none.body().contains("\"code\":\"unauthorized\""), none.body());
    Answer bad = new Sender("abc.def.ghi").get("/fhir/Patient");
    assertEquals(401, bad.status());
    assertTrue(bad.header("WWW-Authenticate").contains("invalid_token"));
    String good = SmartProfile.token("system/*.rs", (String) null);
    assertEquals(401, new Sender(null).get("/fhir/Patient?access_token=" + good).status());
    assertEquals(
        401,
        new Sender(null)
            .send("GET", "/fhir/Patient", null, "Authorization", "Basic " + good)
            .status());
    assertEquals(
        401,
        new Sender(good)
            .send("GET", "/fhir/Patient", null, "Authorization", "Bearer " + good)
            .status(),
        "two of them");
    for (String path :
        List.of(
            "/",
            "/plan/x",
            "/guide",
            "/cds-services",
            "/fhir/openapi.json",
            "/fhir",
            "/fhir/metadata/../Patient",
            "/fhir/Patient/../metadata",
            "/fhir/./metadata",
            "/fhir//metadata",
            "/%66hir/Patient",
            "/fhir/metadata;x",
            "/assets/../fhir/Patient",
            "/auth/token")) {
      int status = new Sender(null).get(path).status();
      assertTrue(status == 401 || status == 404, path + " " + status);
    }
  }

  @ParameterizedTest
  @CsvSource({
    "/fhir/metadata, 200",
    "/fhir/.well-known/smart-configuration, 200",
    "/q/health/ready, 200",
    "/assets/page.css, 200"
  })
  void whatTellsOfNobodyIsFree(String path, int status) {
    assertEquals(status, new Sender(null).get(path).status());
  }

  @Test
  void pagesAndCardsShowEveryoneAndNeedATokenThatMay() {
    String call =
        "{\"hook\":\"patient-view\",\"hookInstance\":\"9f1f4a9e-5d0c-4f6e-8a43-0d2f1c1b7a55\","
            + "\"context\":{\"userId\":\"Practitioner/ada\",\"patientId\":\"%s\"}}"
                .formatted(TwoPeople.id(people.a().subject));
    String whole =
        "user/CarePlan.rs user/Flag.rs user/Goal.rs user/Observation.rs user/Patient.rs"
            + " user/ServiceRequest.rs user/Task.rs";
    for (String scopes :
        List.of(
            whole,
            whole.replace("user/Task.rs", "user/Task.r"),
            whole.replace("user/Goal.rs", "user/Goal.rs?lifecycle-status=active"),
            whole.replace("user/", "patient/"),
            "patient/*.cruds")) {
      Sender sender = new Sender(SmartProfile.token(scopes, TwoPeople.id(people.a().subject)));
      int status = scopes.equals(whole) ? 200 : 403;
      assertEquals(status, sender.get("/").status(), scopes);
      String plan = people.newest("CarePlan", people.a());
      assertEquals(status, sender.get("/plan/" + plan).status(), scopes);
      Answer cards =
          sender.send(
              "POST", "/cds-services/plan-review", call, "Content-Type", "application/json");
      assertEquals(status, cards.status(), scopes + cards.body());
      assertEquals(200, sender.get("/cds-services").status());
      assertEquals(200, sender.get("/guide").status());
      assertEquals(200, sender.get("/fhir/openapi.json").status());
      int around = sender.get("/fhir/../plan/" + plan).status();
      assertTrue(status == 200 || around != 200, "around the filter: " + around);
    }
  }

  @Test
  void theConfigurationTellsWhereTokensAre() {
    Answer told = new Sender(null).get("/fhir/.well-known/smart-configuration");
    assertTrue(told.body().contains("\"token_endpoint\":\"" + Issuer.NAME + "/token\""));
    assertTrue(told.body().contains("\"permission-v2\""));
    assertTrue(new Sender(null).get("/fhir/metadata").body().contains(Issuer.NAME + "/authorize"));
  }
}
