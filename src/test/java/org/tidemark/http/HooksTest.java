package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.is;
import static org.hamcrest.Matchers.notNullValue;
import static org.hamcrest.Matchers.nullValue;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertNull;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ArrayNode;
import com.fasterxml.jackson.databind.node.ObjectNode;
import io.quarkus.test.junit.QuarkusTest;
import io.restassured.response.ValidatableResponse;
import jakarta.inject.Inject;
import java.math.BigDecimal;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Set;
import java.util.UUID;
import java.util.stream.StreamSupport;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Task;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.application.CardFeedback;
import org.tidemark.clinic.ActsForHome;

/**
 * Decision support in a clinician's own record system, held to CDS Hooks 2.0. Where a rule of the
 * specification is checked, its section is named.
 */
@ExtendWith(ActsForHome.class)
@QuarkusTest
class HooksTest {
  private static final ObjectMapper JSON = new ObjectMapper();
  private static final String SERVICES = "/cds-services";
  private static final String REVIEW = SERVICES + "/plan-review";
  private static final String CONFLICT = SERVICES + "/order-conflict";
  private static final String TOWEL = "towel-flexion-stretch";
  private static final String SNOMED = "http://snomed.info/sct";
  private static final String VARIATIONS =
      "https://tidemark.example/fhir/CodeSystem/exercise-variation";

  @Inject CardFeedback kept;

  // ---- what the specification asks of every answer ----

  /** Null and empty JSON elements: only an array of cards may be empty. */
  private static void assertNothingEmpty(JsonNode node, String path) {
    assertFalse(node.isNull(), path);
    assertFalse(node.isTextual() && node.textValue().isEmpty(), path);
    assertFalse(node.isContainerNode() && node.isEmpty() && !path.equals("$.cards"), path);
    node.properties().forEach(e -> assertNothingEmpty(e.getValue(), path + "." + e.getKey()));
    if (node.isArray()) {
      node.forEach(element -> assertNothingEmpty(element, path + "[]"));
    }
  }

  /** Card Attributes, Source, Suggestion, Action, Reasons for rejecting a card, Link. */
  private static void assertCard(JsonNode card) {
    assertKeys(
        card,
        Set.of("uuid", "summary", "indicator", "source"),
        Set.of("detail", "suggestions", "selectionBehavior", "overrideReasons", "links"));
    assertUuid(card.path("uuid"));
    String summary = card.path("summary").textValue();
    assertTrue(summary.length() < 140, summary);
    assertFalse(summary.contains("\n"), summary);
    assertTrue(Set.of("info", "warning", "critical").contains(card.path("indicator").textValue()));
    assertKeys(card.path("source"), Set.of("label"), Set.of("url"));
    assertEquals(
        card.has("suggestions"), card.has("selectionBehavior"), "selectionBehavior: conditional");
    if (card.has("selectionBehavior")) {
      assertEquals("at-most-one", card.path("selectionBehavior").textValue());
    }
    for (JsonNode suggestion : card.path("suggestions")) {
      assertKeys(suggestion, Set.of("label"), Set.of("uuid", "actions"));
      assertUuid(suggestion.path("uuid"));
      suggestion.path("actions").forEach(HooksTest::assertAction);
    }
    for (JsonNode reason : card.path("overrideReasons")) {
      assertKeys(reason, Set.of("code", "system", "display"), Set.of());
    }
    for (JsonNode link : card.path("links")) {
      assertKeys(link, Set.of("label", "url", "type"), Set.of());
      assertEquals("absolute", link.path("type").textValue());
      assertTrue(link.path("url").textValue().startsWith("http://localhost:8081/plan/"));
    }
  }

  private static void assertAction(JsonNode action) {
    String type = action.path("type").textValue();
    if (type.equals("delete")) {
      assertKeys(action, Set.of("type", "description", "resourceId"), Set.of());
      assertTrue(action.path("resourceId").textValue().matches("[A-Z]\\w+/[A-Za-z0-9.-]+"));
    } else {
      assertEquals("update", type);
      assertKeys(action, Set.of("type", "description", "resource"), Set.of());
      PlanPerson.CONTEXT.newJsonParser().parseResource(action.path("resource").toString());
    }
  }

  private static void assertKeys(JsonNode node, Set<String> needed, Set<String> allowed) {
    List<String> names = new ArrayList<>();
    node.properties().forEach(e -> names.add(e.getKey()));
    assertTrue(names.containsAll(needed), names.toString());
    names.removeAll(needed);
    names.removeAll(allowed);
    assertEquals(List.of(), names);
  }

  private static void assertUuid(JsonNode text) {
    assertEquals(text.textValue(), UUID.fromString(text.textValue()).toString());
  }

  // ---- calling ----

  private static ObjectNode json(String text) {
    try {
      return (ObjectNode) JSON.readTree(text);
    } catch (JsonProcessingException e) {
      throw new IllegalArgumentException(text, e);
    }
  }

  private static ObjectNode call(String hook, String patient) {
    return json(
        """
        {"hookInstance": "%s", "hook": "%s",
         "context": {"userId": "Practitioner/ruta-ekberg", "patientId": "%s"}}"""
            .formatted(UUID.randomUUID(), hook, patient));
  }

  private static ObjectNode view(PlanPerson person) {
    return call("patient-view", person.subject.substring("Patient/".length()));
  }

  private static ObjectNode select(String patient, ServiceRequest... drafts) {
    ObjectNode call = call("order-select", patient);
    ObjectNode context = (ObjectNode) call.path("context");
    ArrayNode selections = context.putArray("selections");
    ArrayNode entries =
        context.putObject("draftOrders").put("resourceType", "Bundle").putArray("entry");
    for (ServiceRequest draft : drafts) {
      selections.add("ServiceRequest/" + draft.getIdPart());
      entries.addObject().set("resource", json(PlanPerson.json(draft)));
    }
    return call;
  }

  private static ObjectNode select(PlanPerson person, ServiceRequest... drafts) {
    return select(person.subject.substring("Patient/".length()), drafts);
  }

  private static ValidatableResponse post(String path, JsonNode body) {
    return given().contentType("application/json").body(body.toString()).post(path).then();
  }

  private static List<JsonNode> cards(String path, JsonNode call) {
    return cards(post(path, call).statusCode(200).contentType(containsString("application/json")));
  }

  private static List<JsonNode> cards(ValidatableResponse response) {
    ObjectNode answer = json(response.extract().asString());
    assertKeys(answer, Set.of("cards"), Set.of());
    assertNothingEmpty(answer, "$");
    answer.path("cards").forEach(HooksTest::assertCard);
    return StreamSupport.stream(answer.path("cards").spliterator(), false).toList();
  }

  private static JsonNode only(List<JsonNode> cards) {
    assertEquals(1, cards.size(), cards.toString());
    return cards.get(0);
  }

  private static String text(JsonNode card, String member) {
    return card.path(member).textValue();
  }

  // ---- orders ----

  private static ServiceRequest draft(String system, String code) {
    ServiceRequest draft = new ServiceRequest();
    draft.setId("draft-" + code);
    draft.setStatus(ServiceRequest.ServiceRequestStatus.DRAFT);
    draft.setIntent(ServiceRequest.ServiceRequestIntent.ORDER);
    draft.setCode(new CodeableConcept().addCoding(new Coding(system, code, null)));
    return draft;
  }

  private static ServiceRequest towel(int thickness, String unit) {
    ServiceRequest draft = draft(VARIATIONS, TOWEL);
    var setting = draft.addExtension();
    setting.setUrl(PlanPerson.OURS + "setting");
    setting.addExtension("variable", new CodeType("towel-thickness"));
    setting.addExtension(
        "value",
        new Quantity().setValue(thickness).setSystem("http://unitsofmeasure.org").setCode(unit));
    return draft;
  }

  private static Flag thick(PlanPerson person) {
    return person.limit("towel-thickness", "least", new BigDecimal("12"), "cm");
  }

  /** A person whose every change waits, with one that waits. */
  private static PlanPerson waiting() {
    PlanPerson person = PlanPerson.here();
    person.send(person.baseline());
    person.send(person.equipment());
    CarePlan plan = person.enrolment();
    plan.getExtensionByUrl(PlanPerson.OURS + "change-control")
        .setValue(new CodeType("every-change"));
    person.send(plan);
    person.settled(1, 5);
    return person;
  }

  // ---- discovery ----

  /** Discovery, Response: what each service must and may say, and no other member. */
  @Test
  void theServicesAreListed() {
    ObjectNode answer = json(given().get(SERVICES).then().statusCode(200).extract().asString());
    assertNothingEmpty(answer, "$");
    assertEquals(2, answer.path("services").size());
    for (JsonNode service : answer.path("services")) {
      assertKeys(
          service,
          Set.of("hook", "description", "id"),
          Set.of("title", "prefetch", "usageRequirements"));
      assertEquals("Patient/{{context.patientId}}", service.at("/prefetch/patient").textValue());
    }
    assertEquals(
        List.of("plan-review patient-view", "order-conflict order-select"),
        StreamSupport.stream(answer.path("services").spliterator(), false)
            .map(service -> text(service, "id") + " " + text(service, "hook"))
            .toList());
    given()
        .header("Accept-Language", "de")
        .get(SERVICES)
        .then()
        .body("services[0].title", equalTo("Übungspläne, die eine Fachperson brauchen"));
  }

  @Test
  void otherAddressesAndMethodsAreRefused() {
    post(SERVICES + "/someone-elses", json("{}")).statusCode(404);
    post(REVIEW + "/more", json("{}")).statusCode(404);
    given().get(REVIEW).then().statusCode(405).header("Allow", "POST");
    post(SERVICES, json("{}")).statusCode(405).header("Allow", "GET");
    given().contentType("text/plain").body("{}").post(REVIEW).then().statusCode(415);
  }

  /** Cross-Origin Resource Sharing: a client in a browser is let in only if it is configured. */
  @Test
  void aClientInABrowserIsLetInIfItIsConfigured() {
    given()
        .header("Origin", "https://portal.example")
        .header("Access-Control-Request-Method", "POST")
        .header("Access-Control-Request-Headers", "content-type,authorization")
        .options(REVIEW)
        .then()
        .header("Access-Control-Allow-Origin", "https://portal.example");
    given().header("Origin", "https://elsewhere.example").get(SERVICES).then().statusCode(403);
  }

  // ---- patient-view ----

  @Test
  void aPlanThatNeedsNobodyGivesNoCard() {
    assertEquals(List.of(), cards(REVIEW, view(PlanPerson.enrolled())));
    assertEquals(List.of(), cards(REVIEW, view(PlanPerson.here())), "no plan");
  }

  @Test
  void anOpenWarningIsCriticalAndSaysWhatThePersonWasTold() {
    PlanPerson person = PlanPerson.enrolled();
    person.send(person.warning(2));
    JsonNode card = only(cards(REVIEW, view(person)));
    assertEquals("critical", text(card, "indicator"));
    Task review = person.open("review").get(0);
    String told = text(card, "detail");
    assertTrue(
        List.of("Seek emergency care now.", "See a clinician today.").stream()
            .filter(review.getDescription()::contains)
            .findFirst()
            .map(urgency -> told.contains("The person was told: " + urgency))
            .orElseThrow(),
        told);
    assertFalse(card.has("suggestions"), "a warning is not answered with one click");
    given()
        .get(text(card.at("/links/0"), "url").substring("http://localhost:8081".length()))
        .then()
        .statusCode(200);
  }

  @Test
  void theWordsAreInTheLanguageThatIsAskedFor() {
    PlanPerson person = PlanPerson.enrolled();
    person.send(person.warning(2));
    JsonNode card =
        only(
            cards(
                given()
                    .contentType("application/json")
                    .header("Accept-Language", "fr, de-AT;q=0.8")
                    .body(view(person).toString())
                    .post(REVIEW)
                    .then()));
    assertTrue(text(card, "summary").startsWith("Warnzeichen"), card.toString());
    assertTrue(text(card, "detail").contains("Der Person wurde gesagt: "), card.toString());
    assertFalse(text(card, "detail").contains("clinician"), card.toString());
  }

  /** Action: an update holds the whole resource. Sent to the endpoint it does what it says. */
  @ParameterizedTest
  @CsvSource({"0, accepted", "1, rejected"})
  void aProposalIsAnsweredByTakingASuggestion(int suggestion, String status) {
    PlanPerson person = waiting();
    List<String> before = person.asked();
    JsonNode card = only(cards(REVIEW, view(person)));
    assertEquals("info", text(card, "indicator"));
    JsonNode action = card.path("suggestions").get(suggestion).at("/actions/0");
    Task task =
        PlanPerson.CONTEXT
            .newJsonParser()
            .parseResource(Task.class, action.path("resource").toString());
    assertEquals(status, task.getStatus().toCode());
    assertEquals(person.open("approve").get(0).getIdElement().getIdPart(), task.getIdPart());
    PlanPerson.put(task).statusCode(200);
    assertEquals(status.equals("rejected"), before.equals(person.asked()));
    assertEquals(List.of(), cards(REVIEW, view(person)));
  }

  @Test
  void withheldAsksForAClinicianAndAPlanOnHoldDoesNot() {
    PlanPerson person = PlanPerson.enrolled();
    person.send(forbidsAll(person, "No exercise at all"));
    JsonNode card = only(cards(REVIEW, view(person)));
    assertEquals("warning", text(card, "indicator"));
    assertTrue(text(card, "detail").contains("A precaution forbids every setting"));

    PlanPerson held = PlanPerson.enrolled();
    held.amend(held.plan().setStatus(CarePlan.CarePlanStatus.ONHOLD));
    assertEquals(List.of(), cards(REVIEW, view(held)));
    JsonNode order = only(cards(CONFLICT, select(held, draft(SNOMED, "51998003"))));
    assertTrue(text(order, "summary").contains("on hold"), order.toString());
  }

  private static Flag forbidsAll(PlanPerson person, String words) {
    Flag flag = thick(person);
    flag.getExtensionByUrl(PlanPerson.OURS + "limit")
        .getExtension()
        .removeIf(part -> List.of("variable", "least").contains(part.getUrl()));
    flag.getCode().setText(words);
    return flag;
  }

  // ---- who the person is ----

  /** Another system's id is no id of ours, even if they are alike. */
  @Test
  void aPersonOfAnotherSystemIsKnownByIdentifierOrAbsoluteReference() {
    PlanPerson here = PlanPerson.enrolled();
    here.send(here.warning(2));
    String id = here.subject.substring("Patient/".length());
    Patient patient = PlanPerson.client().read().resource(Patient.class).withId(id).execute();
    patient.addIdentifier().setSystem("https://number.example").setValue("a,b|" + id);
    PlanPerson.put(patient).statusCode(200);

    ObjectNode call = call("patient-view", "77");
    call.put("fhirServer", "https://other.example/r4");
    post(REVIEW, call).statusCode(412).body("member", equalTo("prefetch.patient"));
    ObjectNode sent = call.putObject("prefetch").putObject("patient");
    sent.put("resourceType", "Patient").put("id", "77");
    assertEquals(List.of(), cards(REVIEW, call), "nobody here");
    sent.putArray("identifier")
        .addObject()
        .put("system", "https://number.example")
        .put("value", "a,b|" + id);
    assertEquals("critical", text(only(cards(REVIEW, call)), "indicator"));

    ObjectNode alike = call("patient-view", id);
    alike.put("fhirServer", "https://other.example/r4");
    post(REVIEW, alike).statusCode(412);
    alike.put("fhirServer", PlanPerson.BASE);
    assertEquals(1, cards(REVIEW, alike).size());

    String other = UUID.randomUUID().toString();
    PlanPerson there = PlanPerson.elsewhere("https://other.example/r4/Patient/" + other);
    there.send(there.baseline());
    there.send(there.equipment());
    there.enrol();
    there.send(there.warning(2));
    ObjectNode absolute = call("patient-view", other);
    absolute.put("fhirServer", "https://other.example/r4");
    assertEquals("critical", text(only(cards(REVIEW, absolute)), "indicator"));
  }

  @Test
  void whoeverCannotBeToldApartIsNotGuessed() {
    String value = UUID.randomUUID().toString();
    for (int i = 0; i < 2; i++) {
      Patient twin = new Patient();
      twin.addIdentifier().setSystem("https://number.example").setValue(value);
      PlanPerson.post(twin).statusCode(201);
    }
    ObjectNode call = call("patient-view", "78");
    ObjectNode sent = call.putObject("prefetch").putObject("patient");
    sent.put("resourceType", "Patient").put("id", "78");
    ObjectNode identifier = sent.putArray("identifier").addObject();
    identifier.put("system", "https://number.example").put("value", value);
    post(REVIEW, call).statusCode(412).body("member", equalTo("prefetch.patient.identifier"));

    PlanPerson person = PlanPerson.enrolled();
    person.send(person.warning(2));
    String id = person.subject.substring("Patient/".length());
    Patient patient = PlanPerson.client().read().resource(Patient.class).withId(id).execute();
    patient.addIdentifier().setSystem("https://number.example").setValue("one" + value);
    PlanPerson.put(patient).statusCode(200);
    ObjectNode other = view(person);
    ObjectNode contradicting = other.putObject("prefetch").putObject("patient");
    contradicting.put("resourceType", "Patient").put("id", id);
    contradicting
        .putArray("identifier")
        .addObject()
        .put("system", "https://number.example")
        .put("value", "two" + value);
    assertEquals(List.of(), cards(REVIEW, other), "the same id, another person");
  }

  // ---- order-select ----

  @Test
  void anOrderOutsideAPrecautionIsShownWithTheNearestEasierSetting() {
    PlanPerson person = PlanPerson.enrolled();
    Flag flag = thick(person);
    flag.getCode().setText("Roll of *at least* 12 cm\n# <b>always</b> [x](http://a.example) `q`");
    person.send(flag);
    ServiceRequest draft = towel(10, "cm");
    draft.setPatientInstruction("Take the roll of 10 cm.");
    JsonNode card = only(cards(CONFLICT, select(person, draft)));
    assertEquals("critical", text(card, "indicator"));
    assertTrue(
        text(card, "detail")
            .contains(
                "- Roll of \\*at least\\* 12 cm \\# \\<b\\>always\\</b\\>"
                    + " \\[x\\](http\\://a.example) \\`q\\`"),
        text(card, "detail"));
    assertTrue(text(card, "summary").contains("Roll of *at least* 12 cm"), "plain text");
    JsonNode delete = card.at("/suggestions/0/actions/0");
    assertEquals("ServiceRequest/draft-" + TOWEL, text(delete, "resourceId"));
    JsonNode update = card.at("/suggestions/1/actions/0/resource");
    ServiceRequest inside =
        PlanPerson.CONTEXT.newJsonParser().parseResource(ServiceRequest.class, update.toString());
    assertEquals("15", PlanPerson.setting(inside, "towel-thickness"));
    assertEquals("draft-" + TOWEL, inside.getIdPart());
    assertNull(inside.getPatientInstruction());
    assertFalse(card.toString().toLowerCase(Locale.ROOT).contains("safe"), card.toString());
    assertEquals(List.of(), cards(CONFLICT, select(person, inside)), "no card for the suggestion");
    assertEquals(3, card.path("overrideReasons").size());
  }

  @ParameterizedTest
  @CsvSource({"11, 1", "12, 0", "15, 0"})
  void theLimitItselfIsInside(int thickness, int expected) {
    PlanPerson person = PlanPerson.enrolled();
    person.send(thick(person));
    assertEquals(expected, cards(CONFLICT, select(person, towel(thickness, "cm"))).size());
  }

  @Test
  void anOrderThatLeavesOpenWhatIsLimitedIsToldTheLimit() {
    PlanPerson person = PlanPerson.enrolled();
    person.send(thick(person));
    for (ServiceRequest open :
        List.of(draft(SNOMED, "51998003"), draft(SNOMED, "91251008"), draft(VARIATIONS, TOWEL))) {
      JsonNode card = only(cards(CONFLICT, select(person, open)));
      assertEquals("warning", text(card, "indicator"));
      assertTrue(text(card, "detail").contains("The surgeon's limit on towel-thickness"));
      assertFalse(card.has("suggestions"));
    }
    person.send(forbidsAll(person, "Rest"));
    List<JsonNode> cards = cards(CONFLICT, select(person, draft(SNOMED, "51998003")));
    assertTrue(
        cards.stream().anyMatch(c -> text(c, "summary").endsWith("Rest") && c.has("suggestions")),
        cards.toString());
  }

  @Test
  void onlySelectedOrdersOfExerciseForTheSideAreLookedAt() {
    PlanPerson person = PlanPerson.enrolled();
    person.send(thick(person));
    assertEquals(List.of(), cards(CONFLICT, select(person, draft(SNOMED, "268400002"))));
    ServiceRequest not = towel(10, "cm");
    not.setDoNotPerform(true);
    assertEquals(List.of(), cards(CONFLICT, select(person, not)));
    ServiceRequest right = towel(10, "cm");
    right.addBodySite().addCoding(new Coding(SNOMED, "6757004", null));
    assertEquals(List.of(), cards(CONFLICT, select(person, right)), "the limit is on the left");
    ServiceRequest left = towel(10, "cm");
    left.addBodySite().addCoding(new Coding(SNOMED, "82169009", null));
    assertEquals(1, cards(CONFLICT, select(person, left)).size());
    ObjectNode unselected = select(person, towel(10, "cm"), draft(SNOMED, "268400002"));
    ((ArrayNode) unselected.at("/context/selections")).remove(0);
    assertEquals(List.of(), cards(CONFLICT, unselected));
  }

  @Test
  void anOrderDuringAnOpenWarningIsCriticalOnEitherSide() {
    PlanPerson person = PlanPerson.enrolled();
    person.send(person.warning(2));
    ServiceRequest right = draft(SNOMED, "51998003");
    right.addBodySite().addCoding(new Coding(SNOMED, "6757004", null));
    JsonNode card = only(cards(CONFLICT, select(person, right)));
    assertEquals("critical", text(card, "indicator"));
    assertEquals("delete", text(card.at("/suggestions/0/actions/0"), "type"));
  }

  @Test
  void aPersonWithoutAPlanGivesNoCardAndAnUnknownOneIsAskedFor() {
    assertEquals(List.of(), cards(CONFLICT, select(PlanPerson.here(), towel(10, "cm"))));
    post(CONFLICT, select("nobody-here", towel(10, "cm"))).statusCode(412);
  }

  @Test
  void aLimitHoldsWithoutAPlanToo() {
    PlanPerson person = PlanPerson.here();
    person.send(thick(person));
    JsonNode card = only(cards(CONFLICT, select(person, draft(SNOMED, "51998003"))));
    assertEquals("warning", text(card, "indicator"));
    assertFalse(card.has("links"));
    ServiceRequest right = draft(SNOMED, "51998003");
    right.addBodySite().addCoding(new Coding(SNOMED, "6757004", null));
    assertEquals(List.of(), cards(CONFLICT, select(person, right)), "the limit is on the left");

    PlanPerson planned = PlanPerson.enrolled();
    Flag flag = thick(planned);
    flag.getExtensionByUrl(PlanPerson.OURS + "limit")
        .getExtensionByUrl("side")
        .setValue(new CodeType("right"));
    planned.send(flag);
    assertEquals(1, cards(CONFLICT, select(planned, right)).size(), "the plan is on the left");
  }

  @Test
  void aSettingThatCannotBeReadIsRefusedByItsElement() {
    PlanPerson person = PlanPerson.enrolled();
    post(CONFLICT, select(person, towel(10, "kg")))
        .statusCode(400)
        .body("member", containsString("context.draftOrders.entry[0].resource.extension[0]"));
  }

  // ---- malformed calls ----

  @ParameterizedTest
  @CsvSource(
      delimiter = '|',
      value = {
        "/hookInstance | null | hookInstance",
        "/hookInstance | \"1-1-1-1-1\" | hookInstance",
        "/hook | \"order-sign\" | hook",
        "/hook | 7 | hook",
        "/context | null | context",
        "/context | [] | context",
        "/context/userId | \"\" | context.userId",
        "/context/patientId | null | context.patientId",
        "/context/patientId | \"Patient/1\" | context.patientId",
        "/context/encounterId | 4 | context.encounterId",
        "/context/selections | [] | context.selections",
        "/context/selections | [\"ServiceRequest/other\"] | context.selections[0]",
        "/context/draftOrders | null | context.draftOrders",
        "/context/draftOrders | {\"resourceType\":\"List\"} | context.draftOrders.resourceType",
        "/context/draftOrders/entry | {} | context.draftOrders.entry",
        "/context/draftOrders/entry/0/resource/id | 1 | context.draftOrders.entry[0].resource.id",
        "/context/draftOrders/entry/0/resource/doNotPerform | 7"
            + " | context.draftOrders.entry[0].resource.doNotPerform",
        "/context/draftOrders/entry/0/resource/subject | {\"reference\":\"Patient/b\"}"
            + " | context.draftOrders.entry[0].resource.subject",
        "/context/draftOrders/entry/0/resource/bodySite | [[]]"
            + " | context.draftOrders.entry[0].resource",
        "/context/draftOrders/entry/0/resource/status | \"asleep\""
            + " | context.draftOrders.entry[0].resource.status",
        "/fhirServer | \"other\" | fhirServer",
        "/fhirAuthorization | {\"access_token\":\"t\"} | fhirServer",
        "/prefetch | 1 | prefetch",
        "/prefetch | {\"patient\": {\"resourceType\":\"Group\"}} | prefetch.patient.resourceType",
        "/prefetch | {\"patient\": {\"resourceType\":\"Patient\",\"id\":\"b\"}}"
            + " | prefetch.patient.id"
      })
  void aMalformedCallIsRefusedByItsMember(String pointer, String value, String member)
      throws JsonProcessingException {
    ObjectNode call = select("a", towel(10, "cm"));
    int slash = pointer.lastIndexOf('/');
    ((ObjectNode) call.at(pointer.substring(0, slash)))
        .set(pointer.substring(slash + 1), JSON.readTree(value));
    String answer =
        post(CONFLICT, call)
            .statusCode(400)
            .body("member", equalTo(member))
            .body("message", notNullValue())
            .extract()
            .asString();
    assertNothingEmpty(json(answer), "$");
  }

  @ParameterizedTest
  @ValueSource(strings = {"", "[]", "{", "{} {}", "{\"a\":1,\"a\":2}", "nothing"})
  void whatIsNoJsonObjectIsRefused(String body) {
    given()
        .contentType("application/json")
        .body(body)
        .post(REVIEW)
        .then()
        .statusCode(400)
        .header("X-Request-ID", notNullValue());
  }

  // ---- the specification's own examples ----

  /** Calling a CDS Service, Example: its members, with the prefetched Patient under our key. */
  @Test
  void theExampleOfACallIsAnswered() {
    ObjectNode example =
        json(
            """
            {"hookInstance": "d1577c69-dfbe-44ad-ba6d-3e05e953b2ea",
             "fhirServer": "http://hooks.smarthealthit.org:9080",
             "hook": "patient-view",
             "fhirAuthorization": {"access_token": "some-opaque-fhir-access-token",
               "token_type": "Bearer", "expires_in": 300,
               "scope": "patient/Patient.read patient/Observation.read",
               "subject": "cds-service4"},
             "context": {"userId": "Practitioner/example", "patientId": "1288992",
               "encounterId": "89284"},
             "prefetch": {"patient": {"resourceType": "Patient", "gender": "male",
               "birthDate": "1925-12-23", "id": "1288992", "active": true}},
             "extension": {"com.example.timestamp": "2017-11-27T22:13:25Z"}}""");
    assertEquals(List.of(), cards(REVIEW, example));
    example.putObject("prefetch").putNull("patient");
    post(REVIEW, example).statusCode(412);
  }

  /** Hook order-select, Example (R4): a diet and a medicine, neither of which is ours to judge. */
  @Test
  void theExampleOfOrdersIsAnswered() {
    ObjectNode example =
        json(
            """
            {"hookInstance": "d1577c69-dfbe-44ad-ba6d-3e05e953b2ea", "hook": "order-select",
             "context": {"userId": "PractitionerRole/123", "patientId": "1288992",
               "encounterId": "89284",
               "selections": ["NutritionOrder/pureeddiet-simple",
                 "MedicationRequest/smart-MedicationRequest-103"],
               "draftOrders": {"resourceType": "Bundle", "entry": [
                 {"resource": {"resourceType": "NutritionOrder", "id": "pureeddiet-simple",
                   "status": "draft", "patient": {"reference": "Patient/1288992"}}},
                 {"resource": {"resourceType": "MedicationRequest",
                   "id": "smart-MedicationRequest-103", "status": "draft", "intent": "order",
                   "subject": {"reference": "Patient/1288992"},
                   "dosageInstruction": [{"doseAndRate": {"doseQuantity": {"value": 5}}}]}}]}}}""");
    assertEquals(List.of(), cards(CONFLICT, example));
  }

  // ---- feedback ----

  /** Feedback: its examples, accepted and overridden without and with a reason, and at once. */
  @Test
  void feedbackIsKeptAsItIsTold() {
    String card = UUID.randomUUID().toString();
    String suggestion = UUID.randomUUID().toString();
    ObjectNode body =
        json(
            """
            {"feedback": [
              {"card": "%1$s", "outcome": "accepted", "acceptedSuggestions": [{"id": "%2$s"}],
               "outcomeTimestamp": "2020-12-11T00:00:00Z"},
              {"card": "%1$s", "outcome": "overridden",
               "outcomeTimestamp": "2020-12-11T00:00:01Z"},
              {"card": "%1$s", "outcome": "overridden",
               "overrideReason": {"reason": {"code": "d7ecf885",
                 "system": "https://example.com/cds-hooks/override-reason-system"},
                 "userComment": "A comment entered by the clinician."},
               "outcomeTimestamp": "2020-12-11T00:00:02.5Z"}]}"""
                .formatted(card, suggestion));
    post(CONFLICT + "/feedback", body).statusCode(200).body(is(""));
    List<CardFeedback.Answer> answers = kept.ofCard(card);
    assertEquals(
        List.of("accepted", "overridden", "overridden"),
        answers.stream().map(CardFeedback.Answer::outcome).toList());
    assertEquals(List.of(suggestion), answers.get(0).suggestions());
    assertEquals("order-conflict", answers.get(0).service());
    assertTrue(answers.get(1).reason().isEmpty());
    assertEquals("d7ecf885", answers.get(2).reason().orElseThrow().code());
    assertEquals("A comment entered by the clinician.", answers.get(2).comment().orElseThrow());
    assertEquals("2020-12-11T00:00:02.500Z", answers.get(2).at().toString());
    post(CONFLICT + "/feedback", body).statusCode(200);
    assertEquals(6, kept.ofCard(card).size(), "told again it is added again");
  }

  @ParameterizedTest
  @CsvSource(
      delimiter = '|',
      value = {
        "card | \"no uuid\" | feedback[1].card",
        "outcome | \"ignored\" | feedback[1].outcome",
        "acceptedSuggestions | null | feedback[1].acceptedSuggestions",
        "acceptedSuggestions | [] | feedback[1].acceptedSuggestions",
        "acceptedSuggestions | [{}] | feedback[1].acceptedSuggestions[0].id",
        "overrideReason | {\"reason\":{\"code\":\"a\"}} | feedback[1].overrideReason.reason.system",
        "outcomeTimestamp | \"yesterday\" | feedback[1].outcomeTimestamp",
        "outcomeTimestamp | \"2020-12-11T00:00:00+01:00\" | feedback[1].outcomeTimestamp"
      })
  void oneMalformedAnswerKeepsAllOut(String name, String value, String member)
      throws JsonProcessingException {
    String card = UUID.randomUUID().toString();
    String answer =
        """
        {"card": "%s", "outcome": "accepted", "acceptedSuggestions": [{"id": "%s"}],
         "outcomeTimestamp": "2020-12-11T00:00:00Z"}"""
            .formatted(card, UUID.randomUUID());
    ObjectNode body = json("{\"feedback\": [" + answer + "," + answer + "]}");
    ((ObjectNode) body.at("/feedback/1")).set(name, JSON.readTree(value));
    post(REVIEW + "/feedback", body).statusCode(400).body("member", equalTo(member));
    assertEquals(List.of(), kept.ofCard(card));
  }

  @Test
  void cardsOfTwoCallsAreTwoCards() {
    PlanPerson person = PlanPerson.enrolled();
    person.send(person.warning(2));
    ObjectNode call = view(person);
    assertNotEquals(
        text(only(cards(REVIEW, call)), "uuid"), text(only(cards(REVIEW, call)), "uuid"));
    post(REVIEW, call("patient-view", "nobody-here")).statusCode(412).body("cards", nullValue());
  }
}
