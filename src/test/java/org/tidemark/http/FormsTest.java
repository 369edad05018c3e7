package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.hamcrest.Matchers.hasItems;
import static org.hamcrest.Matchers.not;
import static org.hamcrest.Matchers.startsWith;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.util.List;
import java.util.Map;
import java.util.UUID;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Observation.ObservationStatus;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Questionnaire;
import org.hl7.fhir.r4.model.QuestionnaireResponse;
import org.hl7.fhir.r4.model.QuestionnaireResponse.QuestionnaireResponseStatus;
import org.hl7.fhir.r4.model.Reference;
import org.junit.jupiter.api.Test;
import org.tidemark.fhir.Form;

/** Forms that are read, filled in and sent, as an app does it that knows only Questionnaires. */
@QuarkusTest
class FormsTest {
  private static final String OURS = "https://tidemark.example/fhir/Questionnaire/";

  private static Form baseline(PlanPerson person) {
    return Form.of("baseline")
        .about(person.subject, PlanPerson.at(0, "11:20"))
        .left()
        .answer("comfortable-flexion", "112")
        .answer("other-side-flexion", "139")
        .answer("gap", "9.5")
        .answer("contact", false)
        .answer("pain-at-rest", 1)
        .answer("can-kneel", false)
        .answer("can-stand-on-one-leg", true)
        .answer("body-height", "176")
        .answer("body-weight", "80");
  }

  private static Form session(PlanPerson person, int day) {
    return Form.of("session")
        .about(person.subject, PlanPerson.at(day, "17:30"))
        .left()
        .answer("sets-done", 2)
        .answer("repetitions-done", 10)
        .answer("time-done", 75)
        .answer("contact", true)
        .answer("pain-during", 1)
        .answer("pain-after", 1)
        .answer("effort", "4");
  }

  private static Form morning(PlanPerson person, int sessionDay) {
    return Form.of("morning")
        .about(person.subject, PlanPerson.at(sessionDay + 1, "07:10"))
        .left()
        .answer("pain-next-morning", 1)
        .answer("stiffness", 5)
        .answer("more-swollen", false)
        .answer("would-repeat", true);
  }

  private static PlanPerson enrolled() {
    PlanPerson person = PlanPerson.here();
    person.send(baseline(person).filled());
    person.send(person.equipment());
    person.enrol();
    return person;
  }

  private static List<Observation> derived(PlanPerson person) {
    return person.all(Observation.class).stream().filter(Observation::hasDerivedFrom).toList();
  }

  private static String derivedFrom(Observation observation) {
    return observation.getDerivedFromFirstRep().getReference();
  }

  private static Bundle extract(QuestionnaireResponse form) {
    Parameters parameters = new Parameters();
    parameters.addParameter().setName("questionnaire-response").setResource(form);
    return PlanPerson.client()
        .operation()
        .onType(QuestionnaireResponse.class)
        .named("$extract")
        .withParameters(parameters)
        .returnResourceType(Bundle.class)
        .execute();
  }

  @Test
  void theFormsAreServedAndFound() {
    for (String id : List.of("baseline", "session", "morning")) {
      Questionnaire form =
          PlanPerson.client().read().resource(Questionnaire.class).withId(id).execute();
      assertEquals(OURS + id, form.getUrl());
    }
    given()
        .queryParam("url", OURS + "session")
        .queryParam("version", "1.0.0")
        .queryParam("status", "active")
        .get("/fhir/Questionnaire")
        .then()
        .body("total", equalTo(1))
        .body("entry[0].resource.item[0].linkId", equalTo("side"));
  }

  @Test
  void aWeekOfFormsLeadsToTheSamePlanAsAWeekOfReports() {
    PlanPerson forms = enrolled();
    PlanPerson reports = PlanPerson.here();
    Observation baseline = reports.baseline();
    baseline.getComponent().clear();
    extract(baseline(reports).filled()).getEntry().stream()
        .flatMap(entry -> ((Observation) entry.getResource()).getComponent().stream())
        .forEach(baseline::addComponent);
    reports.send(baseline);
    reports.send(reports.equipment());
    reports.enrol();
    assertEquals(reports.asked(), forms.asked());
    for (int day = 1; day <= 9; day++) {
      forms.send(session(forms, day).filled());
      forms.send(morning(forms, day).filled());
    }
    reports.settled(1, 9);
    assertEquals(reports.asked(), forms.asked());
    assertEquals(reports.decisions().size(), forms.decisions().size());
    assertEquals(
        reports.decisions().stream().map(PlanPerson::reasons).toList(),
        forms.decisions().stream().map(PlanPerson::reasons).toList());
    assertTrue(forms.decisions().stream().anyMatch(d -> PlanPerson.verdict(d).equals("progress")));
  }

  @Test
  void aFormIsOneDecisionAndItsObservationsSayWhereTheyComeFrom() {
    PlanPerson person = enrolled();
    int before = person.decisions().size();
    QuestionnaireResponse sent =
        person.send(
            session(person, 1)
                .answer("comfortable-flexion", "116")
                .answer("method", new Coding(PlanPerson.item("phone").getSystem(), "phone", ""))
                .filled());
    assertEquals(before + 1, person.decisions().size());
    List<Observation> found =
        derived(person).stream()
            .filter(o -> derivedFrom(o).endsWith(sent.getIdElement().getIdPart()))
            .toList();
    assertEquals(2, found.size());
    given()
        .queryParam("derived-from", "QuestionnaireResponse/" + sent.getIdElement().getIdPart())
        .get("/fhir/Observation")
        .then()
        .body("total", equalTo(2))
        .body("entry.resource.status", hasItem("final"))
        .body("entry.resource.status", not(hasItem("amended")));
    given()
        .delete("/fhir/QuestionnaireResponse/" + sent.getIdElement().getIdPart())
        .then()
        .statusCode(409);
  }

  @Test
  void anAmendedFormPutsItsObservationsRight() {
    PlanPerson person = enrolled();
    Form form = session(person, 1).answer("comfortable-flexion", "116");
    QuestionnaireResponse sent = person.send(form.filled());
    person.send(morning(person, 1).filled());
    Map<String, String> ids =
        derived(person).stream()
            .collect(
                Collectors.toMap(
                    o -> o.getIdElement().getIdPart(), o -> o.getMeta().getVersionId()));
    QuestionnaireResponse amended =
        form.answer("pain-during", 8).clear("comfortable-flexion").filled();
    amended.setId(sent.getIdElement().toUnqualifiedVersionless());
    amended.setStatus(QuestionnaireResponseStatus.AMENDED);
    person.amend(amended);
    List<Observation> now = derived(person);
    assertEquals(
        ids.keySet(),
        now.stream().map(o -> o.getIdElement().getIdPart()).collect(Collectors.toSet()));
    Observation report =
        now.stream()
            .filter(o -> o.getCode().getCodingFirstRep().getCode().equals("session"))
            .findFirst()
            .orElseThrow();
    assertEquals(ObservationStatus.AMENDED, report.getStatus());
    assertEquals("2", report.getMeta().getVersionId());
    assertEquals(
        "8", PlanPerson.component(report, "pain-during").getValueQuantity().getValue().toString());
    assertEquals("regress", PlanPerson.verdict(person.lastDecision()));
    Observation range =
        now.stream()
            .filter(o -> o.getCode().getCodingFirstRep().getCode().equals("comfortable-flexion"))
            .findFirst()
            .orElseThrow();
    assertEquals(ObservationStatus.ENTEREDINERROR, range.getStatus());
  }

  @Test
  void theSameFormSentAgainChangesNothing() {
    PlanPerson person = enrolled();
    QuestionnaireResponse form = session(person, 1).filled();
    form.getIdentifier().setSystem("urn:app").setValue(UUID.randomUUID().toString());
    QuestionnaireResponse first = person.send(form);
    person.send(morning(person, 1).filled());
    int decisions = person.decisions().size();
    int observations = derived(person).size();
    QuestionnaireResponse second = person.send(form.copy());
    assertEquals(decisions, person.decisions().size());
    assertEquals(observations, derived(person).size());
    assertTrue(
        derived(person).stream()
            .anyMatch(o -> derivedFrom(o).endsWith(second.getIdElement().getIdPart())));

    QuestionnaireResponse put = first.copy();
    put.setId(second.getIdElement().toUnqualifiedVersionless());
    List<String> versions = versions(person);
    person.amend(put);
    assertEquals(versions, versions(person));
    assertEquals(decisions, person.decisions().size());
  }

  @Test
  void aFormSentAgainWithItsIdentifierTakesTheFormersPlace() {
    PlanPerson person = enrolled();
    Form form = session(person, 1).answer("comfortable-flexion", "116");
    form.response().getIdentifier().setSystem("urn:app").setValue("a,b|c$" + UUID.randomUUID());
    person.send(form.filled());
    int observations = derived(person).size();
    QuestionnaireResponse again =
        person.send(form.clear("comfortable-flexion").answer("pain-after", 9).filled());
    assertEquals(observations, derived(person).size());
    assertEquals(ObservationStatus.AMENDED, report(person, again).getStatus());
    assertEquals(
        List.of("comfortable-flexion"),
        derived(person).stream()
            .filter(o -> o.getStatus() == ObservationStatus.ENTEREDINERROR)
            .map(o -> o.getCode().getCodingFirstRep().getCode())
            .toList());
  }

  private static List<String> versions(PlanPerson person) {
    return derived(person).stream()
        .map(o -> o.getIdElement().toUnqualified().getValue())
        .sorted()
        .toList();
  }

  @Test
  void aFormWithdrawnTakesItsObservationsWithItAndBringsThemBack() {
    PlanPerson person = enrolled();
    QuestionnaireResponse sent =
        person.send(session(person, 1).answer("giving-way", true).filled());
    assertEquals("withhold", PlanPerson.verdict(person.lastDecision()));
    List<String> held = person.asked();
    QuestionnaireResponse wrong = sent.copy();
    wrong.setId(sent.getIdElement().toUnqualifiedVersionless());
    wrong.setStatus(QuestionnaireResponseStatus.ENTEREDINERROR);
    person.amend(wrong);
    Observation report = report(person, sent);
    assertEquals(ObservationStatus.ENTEREDINERROR, report.getStatus());
    wrong.setStatus(QuestionnaireResponseStatus.COMPLETED);
    person.amend(wrong);
    assertEquals(ObservationStatus.AMENDED, report(person, sent).getStatus());
    assertEquals(held, person.asked());

    Observation struck = report(person, sent);
    struck.setId(struck.getIdElement().toUnqualifiedVersionless());
    struck.setStatus(ObservationStatus.ENTEREDINERROR);
    person.amend(struck);
    person.amend(wrong);
    assertEquals(
        ObservationStatus.ENTEREDINERROR,
        report(person, sent).getStatus(),
        "what somebody has struck stays so while the answers are the same");
  }

  private static Observation report(PlanPerson person, QuestionnaireResponse form) {
    return derived(person).stream()
        .filter(o -> derivedFrom(o).endsWith(form.getIdElement().getIdPart()))
        .findFirst()
        .orElseThrow();
  }

  @Test
  void aFormThatIsNotCompletedIsKeptAndNotExtracted() {
    PlanPerson person = enrolled();
    int observations = derived(person).size();
    QuestionnaireResponse begun = session(person, 1).answer("pain-during", 99).filled();
    begun.setStatus(QuestionnaireResponseStatus.INPROGRESS);
    QuestionnaireResponse kept = person.send(begun);
    assertEquals(observations, derived(person).size());
    given()
        .get("/fhir/QuestionnaireResponse/" + kept.getIdElement().getIdPart() + "/$extract")
        .then()
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("QuestionnaireResponse.status"));
    QuestionnaireResponse done = session(person, 1).filled();
    done.setId(kept.getIdElement().toUnqualifiedVersionless());
    person.amend(done);
    assertEquals(observations + 1, derived(person).size());
  }

  @Test
  void badAnswersAreRefusedByItemAndNothingIsStored() {
    PlanPerson person = enrolled();
    int forms = person.all(QuestionnaireResponse.class).size();
    int observations = person.all(Observation.class).size();
    int decisions = person.decisions().size();
    PlanPerson.post(
            session(person, 1)
                .answer("pain-during", 11)
                .answer("contact", new Coding("urn:x", "yes", ""))
                .filled())
        .statusCode(422)
        .body(
            "issue.diagnostics",
            hasItems(startsWith("Item 'pain-during'"), startsWith("Item 'contact'")))
        .body(
            "issue.expression.flatten()",
            hasItem("QuestionnaireResponse.item[1].item[4].answer[0].value"));
    // What the form cannot know is judged as if the Observation were sent by itself.
    PlanPerson.post(session(person, 1).answer("effort", "3.3").filled())
        .statusCode(422)
        .body("issue[0].diagnostics", containsString("in steps of 0.5"))
        .body("issue[0].diagnostics", startsWith("Item 'effort'"))
        .body(
            "issue[0].expression[0]",
            equalTo("QuestionnaireResponse.item[1].item[6].answer[0].value"));
    PlanPerson.post(session(person, 1).answer("gap", "4").filled())
        .statusCode(422)
        .body("issue[0].diagnostics", startsWith("Item 'gap'"));
    PlanPerson.post(session(person, 1).about(person.subject, "2199-01-01T10:00:00Z").filled())
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("QuestionnaireResponse.authored"));
    QuestionnaireResponse another = session(person, 1).filled();
    another.addBasedOn(new Reference("ServiceRequest/absent"));
    PlanPerson.post(another)
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("QuestionnaireResponse.basedOn[0]"));
    QuestionnaireResponse version = session(person, 1).filled();
    version.setQuestionnaire(OURS + "session|9.9.9");
    PlanPerson.post(version)
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("QuestionnaireResponse.questionnaire"));
    PlanPerson.transact(
            session(person, 1).filled(), session(person, 2).answer("pain-after", 11).filled())
        .statusCode(422)
        .body("issue[0].expression[0]", startsWith("Bundle.entry[1].resource.item[1]"));
    assertEquals(forms, person.all(QuestionnaireResponse.class).size());
    assertEquals(observations, person.all(Observation.class).size());
    assertEquals(decisions, person.decisions().size());
  }

  @Test
  void aFormThatIsNotKnownHereIsKeptAsItIs() {
    PlanPerson person = PlanPerson.here();
    QuestionnaireResponse form = new QuestionnaireResponse();
    form.setStatus(QuestionnaireResponseStatus.COMPLETED);
    form.setQuestionnaire("http://elsewhere.example/Questionnaire/mood");
    form.getSubject().setReference(person.subject);
    form.addItem().setLinkId("1").addAnswer().setValue(new BooleanType(true));
    PlanPerson.post(form).statusCode(201);
    assertEquals(List.of(), person.all(Observation.class));
    Parameters parameters = new Parameters();
    parameters.addParameter().setName("questionnaire-response").setResource(form);
    given()
        .contentType(Fhir.JSON)
        .body(PlanPerson.json(parameters))
        .post("/fhir/QuestionnaireResponse/$extract")
        .then()
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("QuestionnaireResponse.questionnaire"));
    given()
        .contentType(Fhir.JSON)
        .body("{\"resourceType\":\"Parameters\"}")
        .post("/fhir/QuestionnaireResponse/$extract")
        .then()
        .statusCode(422);
    given().get("/fhir/QuestionnaireResponse/absent/$extract").then().statusCode(404);
  }

  @Test
  void whatIsExtractedIsNotStoredButCanBeSentAsItIs() {
    PlanPerson person = enrolled();
    PlanPerson twin = enrolled();
    int before = person.all(Observation.class).size();
    Bundle bundle = extract(session(person, 1).answer("comfortable-flexion", "116").filled());
    assertEquals(before, person.all(Observation.class).size());
    assertEquals(Bundle.BundleType.TRANSACTION, bundle.getType());
    assertEquals(2, bundle.getEntry().size());
    PlanPerson.client().transaction().withBundle(bundle).execute();
    assertEquals(before + 2, person.all(Observation.class).size());

    QuestionnaireResponse stored =
        twin.send(session(twin, 1).answer("comfortable-flexion", "116").filled());
    assertEquals(twin.asked(), person.asked());
    assertEquals(
        PlanPerson.reasons(twin.lastDecision()), PlanPerson.reasons(person.lastDecision()));
    List<String> versions = versions(twin);
    int decisions = twin.decisions().size();
    Bundle again =
        PlanPerson.client()
            .operation()
            .onInstance(new IdType("QuestionnaireResponse", stored.getIdElement().getIdPart()))
            .named("$extract")
            .withNoParameters(Parameters.class)
            .useHttpGet()
            .returnResourceType(Bundle.class)
            .execute();
    assertEquals(
        List.of(stored.getIdElement().toUnqualifiedVersionless().getValue()),
        again.getEntry().stream()
            .map(entry -> derivedFrom((Observation) entry.getResource()))
            .distinct()
            .toList());
    PlanPerson.client().transaction().withBundle(again).execute();
    assertEquals(versions.size(), versions(twin).size());
    assertEquals(decisions, twin.decisions().size());
  }

  @Test
  void formsAreFoundByPersonFormDateAndStatus() {
    PlanPerson person = PlanPerson.here();
    QuestionnaireResponse sent = person.send(baseline(person).filled());
    String id = sent.getIdElement().getIdPart();
    for (Map.Entry<String, String> search :
        Map.of(
                "questionnaire",
                OURS + "baseline",
                "authored",
                PlanPerson.date(0),
                "status",
                "completed",
                "_id",
                id)
            .entrySet()) {
      given()
          .queryParam("patient", person.subject)
          .queryParam(search.getKey(), search.getValue())
          .get("/fhir/QuestionnaireResponse")
          .then()
          .statusCode(200)
          .body("entry.resource.id", equalTo(List.of(id)));
    }
    given()
        .queryParam("patient", person.subject)
        .queryParam("questionnaire", OURS + "baseline|1.0.0")
        .get("/fhir/QuestionnaireResponse")
        .then()
        .body("total", equalTo(1));
    given()
        .queryParam("patient", person.subject)
        .queryParam("questionnaire", OURS + "session")
        .get("/fhir/QuestionnaireResponse")
        .then()
        .body("total", equalTo(0));
  }

  @Test
  void theOperationIsDeclared() {
    given()
        .get("/fhir/metadata")
        .then()
        .body(
            "rest[0].resource.find { it.type == 'QuestionnaireResponse' }.operation.name",
            hasItem("extract"))
        .body(
            "rest[0].resource.find { it.type == 'QuestionnaireResponse' }.operation.definition",
            hasItem(
                "http://hl7.org/fhir/uv/sdc/OperationDefinition/QuestionnaireResponse-extract"));
  }
}
