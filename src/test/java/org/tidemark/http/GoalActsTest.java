package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.math.BigDecimal;
import java.util.List;
import java.util.UUID;
import java.util.function.Consumer;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Range;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.RiskAssessment;
import org.hl7.fhir.r4.model.StringType;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.Arguments;
import org.junit.jupiter.params.provider.MethodSource;

/** A clinician sets what a goal is to reach; the forecast follows. */
@QuarkusTest
class GoalActsTest {
  private static final String BASIS = PlanPerson.OURS + "target-basis";
  private static final String REPORT_ITEM = "https://tidemark.example/fhir/CodeSystem/report-item";

  private static Goal goal(PlanPerson person, String code) {
    return person.all(Goal.class).stream()
        .filter(
            goal ->
                goal.getExtensionByUrl(PlanPerson.OURS + "goal-code")
                    .getValue()
                    .primitiveValue()
                    .equals(code))
        .findFirst()
        .orElseThrow();
  }

  private static Quantity quantity(String value, String unit) {
    return new Quantity()
        .setValue(new BigDecimal(value))
        .setUnit(unit)
        .setSystem("http://unitsofmeasure.org")
        .setCode(unit);
  }

  private static String basis(Goal goal) {
    return goal.getTargetFirstRep().getExtensionByUrl(BASIS).getValue().primitiveValue();
  }

  private static int degrees(Goal goal) {
    return ((Range) goal.getTargetFirstRep().getDetail()).getLow().getValue().intValue();
  }

  @Test
  void aCliniciansTargetWinsAndGoesBackToTheProgramme() {
    PlanPerson person = PlanPerson.enrolled();
    Goal range = goal(person, "range");
    assertEquals("measured", basis(range));
    int measured = degrees(range);
    range.getTargetFirstRep().setDetail(quantity("2.1816616", "rad"));
    PlanPerson.put(range).statusCode(200);
    Goal set = goal(person, "range");
    assertEquals("clinician", basis(set));
    assertEquals(125, degrees(set));
    assertTrue(set.getText().getDivAsString().contains("A clinician has set it."));
    String version = set.getMeta().getVersionId();
    PlanPerson.put(set).statusCode(200);
    person.send(person.range(14, 120));
    assertEquals("clinician", basis(goal(person, "range")));
    assertFalse(version.isBlank());
    Goal back = goal(person, "range");
    back.getTargetFirstRep().setDetail(null);
    PlanPerson.put(back).statusCode(200);
    assertEquals("measured", basis(goal(person, "range")));
    assertEquals(measured, degrees(goal(person, "range")));
  }

  @Test
  void theLoadOfTheProgrammeCanBeSetToo() {
    PlanPerson person = PlanPerson.enrolled();
    Goal load = goal(person, "load");
    assertEquals("programme", basis(load));
    load.getTargetFirstRep().setDetail(new Range().setLow(quantity("6", "kg")));
    PlanPerson.put(load).statusCode(200);
    assertEquals("clinician", basis(goal(person, "load")));
    assertEquals(6, degrees(goal(person, "load")));
  }

  static Stream<Arguments> wrong() {
    return Stream.of(
        wrong(g -> target(g, quantity("125", "kg")), 422, "Goal.target[0].detail"),
        wrong(g -> target(g, quantity("400", "deg")), 422, "Goal.target[0].detail"),
        wrong(g -> target(g, new StringType("far")), 422, "Goal.target[0].detail"),
        wrong(
            g -> target(g, new Range().setHigh(quantity("125", "deg"))),
            422,
            "Goal.target[0].detail.low"),
        wrong(g -> g.setSubject(new Reference("Patient/another")), 422, "Goal.subject"),
        wrong(
            g -> g.getExtensionByUrl(PlanPerson.OURS + "goal-code").setValue(new CodeType("floor")),
            422,
            "Goal.extension"),
        wrong(
            g -> g.getExtensionByUrl(PlanPerson.OURS + "side").setValue(new CodeType("right")),
            422,
            "Goal.extension"));
  }

  private static Arguments wrong(Consumer<Goal> spoil, int status, String element) {
    return Arguments.of(spoil, status, element);
  }

  private static void target(Goal goal, org.hl7.fhir.r4.model.Type detail) {
    goal.getTargetFirstRep().setDetail(detail);
  }

  @ParameterizedTest(name = "{2}")
  @MethodSource("wrong")
  void whatCannotBeIsRefusedByItsElementAndChangesNothing(
      Consumer<Goal> spoil, int status, String element) {
    PlanPerson person = PlanPerson.enrolled();
    Goal range = goal(person, "range");
    Goal spoilt = range.copy();
    spoil.accept(spoilt);
    PlanPerson.put(spoilt)
        .statusCode(status)
        .body("issue[0].expression", hasItem(containsString(element)));
    assertEquals(range.getMeta().getVersionId(), goal(person, "range").getMeta().getVersionId());
  }

  /** A record system may bring its own Goal with the plan: it is taken over, not doubled. */
  @Test
  void aGoalThatComesWithThePlanIsTakenOver() {
    PlanPerson person = PlanPerson.here();
    person.send(person.baseline());
    person.send(person.equipment());
    CarePlan plan = person.enrolment();
    Goal own = new Goal();
    own.setLifecycleStatus(Goal.GoalLifecycleStatus.ACTIVE);
    own.setDescription(new CodeableConcept().setText("Sit on her heels in the garden"));
    own.setSubject(plan.getSubject());
    own.addTarget()
        .setMeasure(
            new CodeableConcept()
                .addCoding(
                    new org.hl7.fhir.r4.model.Coding(REPORT_ITEM, "comfortable-flexion", null)))
        .setDetail(quantity("128", "deg"));
    String urn = "urn:uuid:" + UUID.randomUUID();
    plan.addGoal(new Reference(urn));
    Bundle bundle = new Bundle();
    bundle.setType(Bundle.BundleType.TRANSACTION);
    bundle
        .addEntry()
        .setFullUrl(urn)
        .setResource(own)
        .getRequest()
        .setMethod(Bundle.HTTPVerb.POST)
        .setUrl("Goal");
    bundle
        .addEntry()
        .setResource(plan)
        .getRequest()
        .setMethod(Bundle.HTTPVerb.POST)
        .setUrl("CarePlan");
    PlanPerson.client().transaction().withBundle(bundle).execute();
    List<Goal> goals = person.all(Goal.class);
    assertEquals(3, goals.size(), "range, floor and load");
    Goal range = goal(person, "range");
    assertEquals("clinician", basis(range));
    assertEquals(128, degrees(range));
  }

  private static RiskAssessment forecast(PlanPerson person) {
    List<RiskAssessment> all = person.all(RiskAssessment.class);
    assertEquals(1, all.size());
    return all.get(0);
  }

  @Test
  void theForecastFollowsEachReadingAndNothingElse() {
    PlanPerson person = PlanPerson.enrolled();
    RiskAssessment first = forecast(person);
    assertTrue(
        first.getPredictionFirstRep().getRationale().contains("Fewer than three readings"),
        first.getPredictionFirstRep().getRationale());
    person.send(person.session(1));
    assertEquals(first.getMeta().getVersionId(), forecast(person).getMeta().getVersionId());
    for (int week = 1; week <= 6; week++) {
      person.send(person.range(7 * week, 108 + 3 * week));
    }
    RiskAssessment last = forecast(person);
    assertEquals("7", last.getMeta().getVersionId());
    assertTrue(last.getPrediction().size() >= 5);
    assertEquals(7, last.getBasis().size());
    assertTrue(
        person.plan().getSupportingInfo().stream()
            .anyMatch(info -> info.getReference().equals("RiskAssessment/" + last.getIdPart())));
    assertTrue(PlanPerson.json(person.lastDecision()).contains("range-mdc95"));
  }

  @Test
  void aNewTargetIsForecastAnew() {
    PlanPerson person = PlanPerson.enrolled();
    Goal range = goal(person, "range");
    range.getTargetFirstRep().setDetail(quantity("100", "deg"));
    PlanPerson.put(range).statusCode(200);
    assertEquals("2", forecast(person).getMeta().getVersionId());
    given()
        .get(PlanPerson.BASE + "/RiskAssessment/" + forecast(person).getIdPart())
        .then()
        .body("prediction[0].rationale", containsString("at the goal already"))
        .body("status", equalTo("final"));
  }
}
