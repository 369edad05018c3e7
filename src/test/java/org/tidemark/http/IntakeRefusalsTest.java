package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.junit.jupiter.api.Assertions.assertEquals;

import io.quarkus.test.junit.QuarkusTest;
import java.math.BigDecimal;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.function.Consumer;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.Arguments;
import org.junit.jupiter.params.provider.MethodSource;

/** What a plan's reports are refused for: the element is named, and nothing is stored. */
@QuarkusTest
class IntakeRefusalsTest {

  private static Map<String, Integer> stored(PlanPerson person) {
    Map<String, Integer> stored = new LinkedHashMap<>();
    for (String type :
        List.of("Observation", "GuidanceResponse", "ServiceRequest", "CarePlan", "Task", "Goal")) {
      stored.put(
          type,
          given()
              .queryParam("patient", person.subject)
              .queryParam("_summary", "count")
              .get("/fhir/" + type)
              .jsonPath()
              .getInt("total"));
    }
    return stored;
  }

  private static Arguments report(
      String name, String code, String path, String kind, Consumer<Observation> spoil) {
    return Arguments.of(name, code, path, kind, spoil);
  }

  static Stream<Arguments> spoilt() {
    return Stream.of(
        report(
            "pain 11",
            "out-of-range",
            "Observation.component[4].value",
            "session",
            o -> PlanPerson.answer(o, "pain-during", 11)),
        report(
            "pain -1",
            "out-of-range",
            "Observation.component[5].value",
            "session",
            o -> PlanPerson.answer(o, "pain-after", -1)),
        report(
            "time in cm",
            "wrong-unit",
            "Observation.component[2].value.code",
            "session",
            o -> PlanPerson.answer(o, "time-done", "60", "cm")),
        report(
            "a unit that is none",
            "wrong-unit",
            "Observation.component[2].value.code",
            "session",
            o -> PlanPerson.answer(o, "time-done", "60", "secs")),
        report(
            "no sets",
            "out-of-range",
            "Observation.component[0].value",
            "session",
            o -> PlanPerson.component(o, "sets-done").setValue(new IntegerType(-2))),
        report(
            "flexion 400 deg",
            "out-of-range",
            "Observation.value",
            "range",
            o -> o.getValueQuantity().setValue(400)),
        report(
            "flexion in inches",
            "wrong-unit",
            "Observation.value.code",
            "range",
            o -> o.getValueQuantity().setCode("[in_i]")),
        report(
            "future",
            "future-date",
            "Observation.effective",
            "session",
            o -> o.setEffective(new DateTimeType("2999-01-01T10:00:00Z"))),
        report(
            "long ago",
            "out-of-range",
            "Observation.effective",
            "session",
            o -> o.setEffective(new DateTimeType("1900-01-01T10:00:00Z"))),
        report("no subject", "missing", "Observation.subject", "session", o -> o.setSubject(null)),
        report(
            "no such person",
            "unknown-reference",
            "Observation.subject",
            "session",
            o -> o.setSubject(new Reference("Patient/there-is-none"))),
        report(
            "both sides",
            "business-rule",
            "Observation.bodySite",
            "session",
            o ->
                o.getBodySite()
                    .addCoding()
                    .setSystem("http://snomed.info/sct")
                    .setCode("24028007")),
        report(
            "code of the other side",
            "business-rule",
            "Observation.bodySite",
            "range",
            o -> o.getCode().getCodingFirstRep().setCode("41347-6")),
        report(
            "value and reason",
            "business-rule",
            "Observation.dataAbsentReason",
            "range",
            o -> o.setDataAbsentReason(new CodeableConcept().setText("x"))),
        report(
            "unknown item",
            "unsupported",
            "Observation.component[0].code",
            "session",
            o -> o.getComponent().get(0).getCode().getCodingFirstRep().setCode("sets-undone")),
        report(
            "the same item twice",
            "duplicate",
            "Observation.component[7].code",
            "session",
            o -> o.addComponent(o.getComponent().get(0).copy())),
        report(
            "no such prescription",
            "unknown-reference",
            "Observation.basedOn[0]",
            "session",
            o -> o.addBasedOn(new Reference("ServiceRequest/there-is-none"))),
        report(
            "pain in a unit of length",
            "wrong-unit",
            "Observation.component[0].value.code",
            "morning",
            o ->
                PlanPerson.component(o, "pain-next-morning")
                    .setValue(
                        new Quantity()
                            .setValue(new BigDecimal("3"))
                            .setSystem("http://unitsofmeasure.org")
                            .setCode("cm"))));
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource("spoilt")
  void aSpoiltReportIsRefusedByItsElement(
      String name, String code, String path, String kind, Consumer<Observation> spoil) {
    PlanPerson person = PlanPerson.enrolled();
    Observation report =
        switch (kind) {
          case "session" -> person.session(1);
          case "morning" -> person.morning(1);
          default -> person.range(1, 100);
        };
    spoil.accept(report);
    Map<String, Integer> before = stored(person);
    PlanPerson.post(report)
        .statusCode(422)
        .body("resourceType", equalTo("OperationOutcome"))
        .body("issue.expression.flatten()", hasItem(path));
    assertEquals(before, stored(person), name);

    PlanPerson.transact(person.session(2), report)
        .statusCode(422)
        .body(
            "issue.expression.flatten()",
            hasItem(path.replace("Observation.", "Bundle.entry[1].resource.")));
    assertEquals(before, stored(person), "nothing of the Bundle either");
  }

  @Test
  void aReportForAnothersPrescriptionIsRefused() {
    PlanPerson one = PlanPerson.enrolled();
    PlanPerson other = PlanPerson.enrolled();
    ServiceRequest theirs = other.inForce().get("towel-flexion-stretch");
    Observation session = one.session(1);
    session.addBasedOn(new Reference("ServiceRequest/" + theirs.getIdElement().getIdPart()));
    Map<String, Integer> before = stored(one);
    Map<String, Integer> beforeTheirs = stored(other);
    PlanPerson.post(session)
        .statusCode(422)
        .body(
            "issue[0].expression",
            equalTo(List.of("Observation.basedOn[0]", "Observation.subject")));
    assertEquals(before, stored(one));
    assertEquals(beforeTheirs, stored(other));
  }

  @Test
  void case70ASessionForAPlanThatIsNotActiveIsRefusedButACorrectionIsNot() {
    PlanPerson person = PlanPerson.enrolled();
    Reference order =
        new Reference(
            "ServiceRequest/"
                + person.inForce().get("towel-flexion-stretch").getIdElement().getIdPart());
    Observation done = person.session(1);
    done.addBasedOn(order);
    Observation stored = person.send(done);
    for (CarePlan.CarePlanStatus status :
        List.of(CarePlan.CarePlanStatus.ONHOLD, CarePlan.CarePlanStatus.REVOKED)) {
      person.amend(person.plan().setStatus(status));
      Observation session = person.session(2);
      session.addBasedOn(order);
      Map<String, Integer> before = stored(person);
      PlanPerson.post(session)
          .statusCode(422)
          .body("issue[0].expression[0]", equalTo("Observation.basedOn[0]"));
      assertEquals(before, stored(person));
      PlanPerson.answer(stored, "effort", 6);
      PlanPerson.put(stored.setStatus(Observation.ObservationStatus.AMENDED)).statusCode(200);
    }
  }

  @Test
  void aSettingThatTheExerciseDoesNotHaveIsRefusedByEntryAndElement() {
    PlanPerson person = PlanPerson.enrolled();
    ServiceRequest order = person.inForce().get("towel-flexion-stretch");
    Observation session = person.session(1);
    session.addBasedOn(new Reference("ServiceRequest/" + order.getIdElement().getIdPart()));
    Observation.ObservationComponentComponent setting = session.addComponent();
    setting
        .getCode()
        .addCoding()
        .setSystem("https://tidemark.example/fhir/CodeSystem/progression-variable")
        .setCode("dumbbell-load");
    setting.setValue(
        new Quantity().setValue(4).setSystem("http://unitsofmeasure.org").setCode("kg"));
    Map<String, Integer> before = stored(person);
    PlanPerson.post(session)
        .statusCode(422)
        .body(
            "issue.expression.flatten()",
            hasItem("Observation.component.where(code.coding.code='dumbbell-load').value"));
    session.getBasedOn().clear();
    PlanPerson.transact(person.morning(1), session)
        .statusCode(422)
        .body(
            "issue.expression.flatten()",
            hasItem(
                "Bundle.entry[1].resource.component.where(code.coding.code='dumbbell-load').value"));
    assertEquals(before, stored(person));
  }

  @Test
  void aPersonKnownByIdentifierOnlyIsStoredAndMovesNoPlan() {
    Observation session = PlanPerson.here().session(1);
    session.setSubject(new Reference());
    session.getSubject().getIdentifier().setSystem("https://clinic.example/mrn").setValue("A-1");
    PlanPerson.post(session).statusCode(201);
    Observation sideless = session.copy();
    sideless.setBodySite(null);
    PlanPerson.post(sideless).statusCode(201);
  }

  @Test
  void aBatchStoresTheGoodAndNamesTheBad() {
    PlanPerson person = PlanPerson.enrolled();
    Observation bad = person.session(2);
    PlanPerson.answer(bad, "pain-during", 11);
    org.hl7.fhir.r4.model.Bundle batch = new org.hl7.fhir.r4.model.Bundle();
    batch.setType(org.hl7.fhir.r4.model.Bundle.BundleType.BATCH);
    for (Observation report : List.of(person.session(1), bad, person.morning(1))) {
      batch
          .addEntry()
          .setResource(report)
          .getRequest()
          .setMethod(org.hl7.fhir.r4.model.Bundle.HTTPVerb.POST)
          .setUrl("Observation");
    }
    int before = person.all(GuidanceResponse.class).size();
    given()
        .contentType(Fhir.JSON)
        .body(PlanPerson.json(batch))
        .post("/fhir")
        .then()
        .statusCode(200)
        .body("entry[0].response.status", org.hamcrest.Matchers.startsWith("201"))
        .body("entry[1].response.status", org.hamcrest.Matchers.startsWith("422"))
        .body(
            "entry[1].response.outcome.issue[0].expression[0]",
            equalTo("Bundle.entry[1].resource.component[4].value"))
        .body("entry[2].response.status", org.hamcrest.Matchers.startsWith("201"));
    assertEquals(before + 2, person.all(GuidanceResponse.class).size());
  }
}
