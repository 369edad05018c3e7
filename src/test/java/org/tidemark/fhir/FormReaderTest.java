package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Map;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Questionnaire;
import org.hl7.fhir.r4.model.QuestionnaireResponse;
import org.hl7.fhir.r4.model.Reference;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/** Forms as Observations, and answers that do not fit the questions. */
class FormReaderTest {
  private static final String SDC = "http://hl7.org/fhir/uv/sdc/StructureDefinition/";

  private static Form session() {
    return Form.of("session").about("Patient/p", "2026-04-14T18:00:00+02:00").left();
  }

  private static Questionnaire questions(String json) {
    return ProfileFiles.R4
        .newJsonParser()
        .parseResource(
            Questionnaire.class,
            "{\"resourceType\":\"Questionnaire\",\"url\":\"urn:form\",\"version\":\"1\","
                + "\"status\":\"active\","
                + json.replace("'", "\"").replace("SDC/", SDC + "sdc-questionnaire-")
                + "}");
  }

  private static Questionnaire ours(String id) {
    return ProfileFiles.all(Questionnaire.class).stream()
        .filter(form -> form.getIdElement().getIdPart().equals(id))
        .findFirst()
        .orElseThrow();
  }

  private static List<Observation> read(Questionnaire questions, Form form) {
    return FormReader.read(questions, form.filled()).stream()
        .map(FormObservation::observation)
        .toList();
  }

  private static Problem refused(Questionnaire questions, QuestionnaireResponse form) {
    return assertThrows(Problem.class, () -> FormReader.read(questions, form));
  }

  @Test
  void aSessionIsAReportAndAMeasurementEachValidAgainstItsProfile() {
    Form form =
        session()
            .answer("sets-done", 2)
            .answer("contact", true)
            .answer("pain-during", 1)
            .answer("effort", "3.5")
            .answer("giving-way", false)
            .answer("comfortable-flexion", "118.5")
            .answer("method", new Coding(Codes.REPORT_ITEM, "phone", ""));
    form.response().addBasedOn(new Reference("ServiceRequest/7"));
    form.response().setAuthor(new Reference("Patient/p"));
    List<Observation> found = read(ours("session"), form);
    assertEquals(2, found.size());
    Observation report = found.get(0);
    assertEquals(List.of(), ProfileValidation.errors(report, Codes.structure("session-report")));
    assertEquals("activity", report.getCategoryFirstRep().getCodingFirstRep().getCode());
    assertEquals(
        List.of("sets-done", "contact", "pain-during", "effort", "giving-way"),
        report.getComponent().stream()
            .map(component -> component.getCode().getCodingFirstRep().getCode())
            .toList());
    assertEquals(2, report.getComponent().get(0).getValueIntegerType().getValue());
    Quantity effort = report.getComponent().get(3).getValueQuantity();
    assertEquals("3.5 {score}", effort.getValue() + " " + effort.getCode());
    assertEquals("2026-04-14T18:00:00+02:00", report.getEffectiveDateTimeType().getValueAsString());
    assertEquals("2026-04-14T18:00:00+02:00", report.getIssuedElement().getValueAsString());
    assertEquals("Patient/p", report.getPerformerFirstRep().getReference());
    assertEquals("ServiceRequest/7", report.getBasedOnFirstRep().getReference());
    assertFalse(report.hasMethod());

    Observation range = found.get(1);
    assertEquals(List.of(), ProfileValidation.errors(range, Codes.structure("range-measurement")));
    assertEquals("exam", range.getCategoryFirstRep().getCodingFirstRep().getCode());
    assertEquals("phone", range.getMethod().getCodingFirstRep().getCode());
    assertEquals(Codes.SNOMED_LEFT_KNEE, range.getBodySite().getCodingFirstRep().getCode());
    assertEquals("118.5 deg", range.getValueQuantity().getValue() + " deg");
  }

  @Test
  void aSessionOfAnotherTimeIsOfThatTime() {
    Form form = session().answer("pain-after", 0);
    form.answer("when", new DateTimeType("2026-04-13T07:00:00+02:00"));
    Observation report = read(ours("session"), form).get(0);
    assertEquals("2026-04-13T07:00:00+02:00", report.getEffectiveDateTimeType().getValueAsString());
    assertEquals("2026-04-14T18:00:00+02:00", report.getIssuedElement().getValueAsString());
  }

  @Test
  void whatIsNotAnsweredIsNotExtracted() {
    assertEquals(List.of(), read(ours("session"), session()));
    List<Observation> onlyRange =
        read(ours("session"), session().answer("comfortable-flexion", "90"));
    assertEquals(1, onlyRange.size());
    assertEquals("comfortable-flexion", onlyRange.get(0).getCode().getCodingFirstRep().getCode());
  }

  @ParameterizedTest(name = "{0}: {1}")
  @CsvSource({
    "baseline, baseline-assessment, comfortable-flexion",
    "morning, morning-report, stiffness"
  })
  void theOtherFormsFitTheirProfiles(String form, String profile, String item) {
    Form filled = Form.of(form).about("Patient/p", "2026-04-14T07:00:00+02:00").left();
    if (form.equals("morning")) {
      filled.answer(item, 10).answer("would-repeat", true);
    } else {
      filled.answer(item, "112").answer("can-kneel", true);
    }
    List<Observation> found = read(ours(form), filled);
    assertEquals(1, found.size());
    assertEquals(2, found.get(0).getComponent().size());
    assertEquals(List.of(), ProfileValidation.errors(found.get(0), Codes.structure(profile)));
    assertEquals(List.of(), ProfileValidation.errors(filled.filled()));
  }

  @Test
  void aMarkAtTheRootHoldsForEveryItemWithACodeButThoseThatSayNo() {
    Questionnaire form =
        questions(
            """
            'extension':[{'url':'SDC/observationExtract','valueBoolean':true},
              {'url':'SDC/observation-extract-category','valueCodeableConcept':{'text':'outer'}}],
            'item':[
              {'linkId':'a','type':'integer','code':[{'system':'urn:x','code':'A'}],'repeats':true},
              {'linkId':'b','type':'string','text':'no code'},
              {'linkId':'g','type':'group',
               'extension':[{'url':'SDC/observationExtract','valueBoolean':false}],
               'item':[{'linkId':'c','type':'integer','code':[{'system':'urn:x','code':'C'}]}]},
              {'linkId':'h','type':'group',
               'extension':[{'url':'SDC/observation-extract-category',
                             'valueCodeableConcept':{'text':'inner'}}],
               'item':[{'linkId':'d','type':'choice','code':[{'system':'urn:x','code':'D'}],
                 'answerOption':[{'valueCoding':{'system':'urn:y','code':'Y'}}]}]}]""");
    Form filled =
        Form.of(form)
            .about("Patient/p", "2026-04-14")
            .answer("a", 1)
            .also("a", new IntegerType(2))
            .words("b", "text")
            .answer("c", 3)
            .answer("d", new Coding("urn:y", "Y", ""));
    List<FormObservation> found = FormReader.read(form, filled.filled());
    assertEquals(List.of("a/1", "a/2", "d/1"), found.stream().map(FormObservation::key).toList());
    assertEquals(
        List.of("outer", "outer", "inner"),
        found.stream().map(f -> f.observation().getCategoryFirstRep().getText()).toList());
    assertEquals(
        "Y", found.get(2).observation().getValueCodeableConcept().getCodingFirstRep().getCode());
    assertFalse(found.get(0).observation().hasIssued(), "a day alone is no instant");
  }

  @Test
  void ofSeveralCodesThoseThatAreMarkedAreTaken() {
    Questionnaire form =
        questions(
            """
            'item':[{'linkId':'w','type':'decimal','code':[
              {'system':'urn:x','code':'weight',
               'extension':[{'url':'SDC/observationExtract','valueBoolean':true}]},
              {'system':'urn:x','code':'weight-clothed'}]}]""");
    Form filled = Form.of(form).about("Patient/p", "2026-04-14").answer("w", "80");
    Observation found = read(form, filled).get(0);
    assertEquals(1, found.getCode().getCoding().size());
    assertEquals("weight", found.getCode().getCodingFirstRep().getCode());
    assertFalse(found.getCode().getCodingFirstRep().hasExtension());
  }

  @Test
  void whatAFormAsksForAndIsNotKnownHereIsSaid() {
    Questionnaire member =
        questions(
            """
            'item':[{'linkId':'m','type':'integer','code':[{'system':'urn:x','code':'M'}],
              'extension':[{'url':'SDC/observationExtract','valueCode':'member'}]}]""");
    Questionnaire orphan =
        questions(
            """
            'item':[{'linkId':'m','type':'integer','code':[{'system':'urn:x','code':'M'}],
              'extension':[{'url':'SDC/observationExtract','valueCode':'component'}]}]""");
    for (Questionnaire form : List.of(member, orphan)) {
      Problem problem =
          refused(form, Form.of(form).about("Patient/p", "2026-04-14").answer("m", 1).filled());
      assertEquals(Problem.Kind.UNSUPPORTED, problem.issues().get(0).kind());
      assertEquals(
          List.of("Questionnaire.descendants().where(linkId='m')"),
          problem.issues().get(0).expressions());
    }
  }

  @Test
  void aFormWithoutMarksIsNotExtracted() {
    assertFalse(
        FormReader.isExtracted(
            questions(
                "'item':[{'linkId':'a','type':'group','item':[{'linkId':'b','type':'date'}]}]")));
    assertTrue(FormReader.isExtracted(ours("morning")));
  }

  @ParameterizedTest(name = "{0} = {1}: {2}")
  @CsvSource({
    "pain-during, 11, OUT_OF_RANGE",
    "pain-during, -1, OUT_OF_RANGE",
    "pain-during, true, UNSUPPORTED",
    "effort, 10.01, OUT_OF_RANGE",
    "contact, 1, UNSUPPORTED",
    "giving-way, 0, UNSUPPORTED"
  })
  void anAnswerThatDoesNotFitNamesItsItem(String linkId, String answer, Problem.Kind kind) {
    Form form = session();
    if (answer.equals("true")) {
      form.answer(linkId, true);
    } else if (answer.contains(".")) {
      form.answer(linkId, answer);
    } else {
      form.answer(linkId, Integer.parseInt(answer));
    }
    Problem.Issue issue = refused(ours("session"), form.filled()).issues().get(0);
    assertEquals(kind, issue.kind());
    assertTrue(issue.text().startsWith("Item '" + linkId + "': "), issue.text());
    assertTrue(
        issue
            .expressions()
            .get(0)
            .matches("QuestionnaireResponse(\\.item\\[\\d+])+\\.answer\\[0]\\.value"),
        issue.expressions().toString());
  }

  @ParameterizedTest(name = "{0} = {1} is taken")
  @CsvSource({"pain-during, 0", "pain-during, 10", "effort, 10", "effort, 0"})
  void theEndsOfARangeAreTaken(String linkId, int answer) {
    assertEquals(1, read(ours("session"), session().answer(linkId, answer)).size());
  }

  @Test
  void everyFaultIsToldAtOnce() {
    QuestionnaireResponse form =
        session()
            .answer("side", new Coding(Codes.SNOMED, "36701003", "Both knees"))
            .answer("pain-after", 12)
            .also("contact", new org.hl7.fhir.r4.model.BooleanType(true))
            .also("contact", new org.hl7.fhir.r4.model.BooleanType(false))
            .filled();
    form.addItem().setLinkId("shoe-size").addAnswer().setValue(new IntegerType(43));
    Problem problem = refused(ours("session"), form);
    assertEquals(
        Map.of(
            "side", Problem.Kind.INVALID_VALUE,
            "pain-after", Problem.Kind.OUT_OF_RANGE,
            "contact", Problem.Kind.DUPLICATE,
            "shoe-size", Problem.Kind.UNSUPPORTED),
        problem.issues().stream()
            .collect(
                java.util.stream.Collectors.toMap(
                    issue -> issue.text().split("'")[1], Problem.Issue::kind)));
  }

  @Test
  void whatIsRequiredMustBeThere() {
    Form form = Form.of("session").about("Patient/p", "2026-04-14").answer("pain-after", 1);
    Problem.Issue side = refused(ours("session"), form.filled()).issues().get(0);
    assertEquals(Problem.Kind.MISSING, side.kind());
    assertEquals("Item 'side': it must be answered.", side.text());
    QuestionnaireResponse nobody = session().answer("pain-after", 1).filled();
    nobody.setSubject(null).setAuthored(null);
    assertEquals(
        List.of(
            List.of("QuestionnaireResponse.subject"), List.of("QuestionnaireResponse.authored")),
        refused(ours("session"), nobody).issues().stream()
            .map(Problem.Issue::expressions)
            .toList());
  }

  @Test
  void aProblemOfTheObservationIsToldInTheForm() {
    FormObservation report =
        FormReader.read(ours("session"), session().answer("pain-after", 1).filled()).get(0);
    Problem told =
        report.inForm(
            Problem.of(
                Problem.Kind.OUT_OF_RANGE, "Too much.", "Observation.component[0].value.code"));
    assertEquals("Item 'pain-after': Too much.", told.getMessage());
    assertEquals(
        List.of("QuestionnaireResponse.item[1].item[0].answer[0].value"),
        told.issues().get(0).expressions());
    assertEquals(
        List.of("QuestionnaireResponse.item[0].answer[0].value"),
        report
            .inForm(Problem.of(Problem.Kind.BUSINESS_RULE, "x", "Observation.bodySite"))
            .issues()
            .get(0)
            .expressions());
  }
}
