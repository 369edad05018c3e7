package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.restassured.response.ValidatableResponse;
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
import org.hl7.fhir.r4.model.Observation;
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
    person.send(person.range(14, 120));
    assertEquals("clinician", basis(goal(person, "range")));
    Goal back = goal(person, "range");
    back.getTargetFirstRep().setDetail(null);
    PlanPerson.put(back).statusCode(200);
    assertEquals("measured", basis(goal(person, "range")));
    assertEquals(measured, degrees(goal(person, "range")));
  }

  @Test
  void theSameTargetAgainChangesNothing() {
    PlanPerson person = PlanPerson.enrolled();
    Goal range = goal(person, "range");
    range.getTargetFirstRep().setDetail(quantity("125", "deg"));
    PlanPerson.put(range).statusCode(200);
    Goal set = goal(person, "range");
    int decisions = person.decisions().size();
    String forecast = forecast(person).getMeta().getVersionId();
    for (int again = 1; again <= 2; again++) {
      PlanPerson.put(set).statusCode(200);
      PlanPerson.put(range).statusCode(200);
    }
    assertEquals(set.getText().getDivAsString(), goal(person, "range").getText().getDivAsString());
    assertEquals("clinician", basis(goal(person, "range")));
    assertEquals(125, degrees(goal(person, "range")));
    assertEquals(decisions, person.decisions().size());
    assertEquals(forecast, forecast(person).getMeta().getVersionId());
  }

  /** The trail of a decision names the very version of the Goal that led to it. */
  @Test
  void theTrailNamesTheGoal() {
    PlanPerson person = PlanPerson.enrolled();
    Goal range = goal(person, "range");
    range.getTargetFirstRep().setDetail(quantity("125", "deg"));
    PlanPerson.put(range).statusCode(200);
    String source = "Goal/" + range.getIdElement().getIdPart() + "/_history/2";
    given()
        .get(
            PlanPerson.BASE
                + "/Provenance?target="
                + person.lastDecision().getIdElement().toUnqualifiedVersionless().getValue())
        .then()
        .body("entry[0].resource.entity.what.reference", hasItem(source))
        .body(
            "entry[0].resource.target.reference",
            hasItem(
                "RiskAssessment/" + forecast(person).getIdElement().getIdPart() + "/_history/2"));
  }

  @Test
  void aTargetOfTheProgrammeThatIsLeftOutIsWrittenAgain() {
    PlanPerson person = PlanPerson.enrolled();
    Goal load = goal(person, "load");
    load.getTarget().clear();
    PlanPerson.put(load).statusCode(200);
    assertEquals("programme", basis(goal(person, "load")));
    assertEquals(10, degrees(goal(person, "load")));
    Goal spoilt = goal(person, "load");
    spoilt.getTargetFirstRep().getExtensionByUrl(BASIS).setValue(new CodeType("clinician"));
    PlanPerson.put(spoilt).statusCode(200);
    assertEquals("programme", basis(goal(person, "load")));
  }

  /** What is reported late or put right leads to the same plan as if it had come at once. */
  @Test
  void aLateReportLeavesTheTargetAsItIsSet() {
    PlanPerson person = PlanPerson.enrolled();
    person.send(person.session(5));
    Goal range = goal(person, "range");
    range.getTargetFirstRep().setDetail(quantity("125", "deg"));
    PlanPerson.put(range).statusCode(200);
    Observation late = person.send(person.range(3, 112));
    assertEquals(125, degrees(goal(person, "range")));
    late.getValueQuantity().setValue(114);
    late.setStatus(Observation.ObservationStatus.CORRECTED);
    person.amend(late);
    assertEquals("clinician", basis(goal(person, "range")));
    assertEquals(125, degrees(goal(person, "range")));
    assertEquals(2, forecast(person).getBasis().size());
  }

  @Test
  void anEndedPlanIsLeftAsItIs() {
    PlanPerson person = PlanPerson.enrolled();
    CarePlan plan = person.plan();
    plan.setStatus(CarePlan.CarePlanStatus.COMPLETED);
    PlanPerson.put(plan).statusCode(200);
    String forecast = forecast(person).getMeta().getVersionId();
    Goal range = goal(person, "range");
    range.getTargetFirstRep().setDetail(quantity("125", "deg"));
    PlanPerson.put(range).statusCode(200);
    assertEquals("measured", basis(goal(person, "range")));
    assertEquals(forecast, forecast(person).getMeta().getVersionId());
    assertEquals("FINAL", forecast(person).getStatus().name());
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
        wrong(g -> target(g, new Quantity().setUnit("deg")), 422, "Goal.target[0].detail.value"),
        wrong(
            g ->
                target(
                    g, quantity("125", "deg").setComparator(Quantity.QuantityComparator.LESS_THAN)),
            422,
            "Goal.target[0].detail.comparator"),
        wrong(
            g -> target(g, new Range().setLow(quantity("40", "[in_i]"))),
            422,
            "Goal.target[0].detail.low"),
        wrong(g -> g.setSubject(new Reference("Patient/another")), 422, "Goal.subject"),
        wrong(g -> g.setSubject(new Reference().setDisplay("Somebody")), 422, "Goal.subject"),
        wrong(
            g -> g.setLifecycleStatus(Goal.GoalLifecycleStatus.ENTEREDINERROR),
            422,
            "Goal.lifecycleStatus"),
        wrong(
            g -> g.addExtension(PlanPerson.OURS + "side", new CodeType("right")),
            422,
            "Goal.extension"),
        wrong(
            g -> g.getExtension().removeIf(e -> e.getUrl().endsWith("/side")),
            422,
            "Goal.extension"),
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
    String urn = "urn:uuid:" + UUID.randomUUID();
    plan.addGoal(new Reference(urn));
    bring(urn, own(plan.getSubject()), plan).statusCode(200);
    List<Goal> goals = person.all(Goal.class);
    assertEquals(3, goals.size(), "range, floor and load");
    Goal range = goal(person, "range");
    assertEquals("clinician", basis(range));
    assertEquals(128, degrees(range));
    assertEquals("Sit on her heels in the garden", range.getDescription().getText());
    assertEquals(3, person.plan().getGoal().size());
    range.getTargetFirstRep().setDetail(null);
    PlanPerson.put(range).statusCode(200);
    assertEquals("measured", basis(goal(person, "range")));
  }

  static Stream<Arguments> notOfThePlan() {
    return Stream.of(
        Arguments.of("another unit", (Consumer<Goal>) g -> target(g, quantity("128", "cm"))),
        Arguments.of("another person", (Consumer<Goal>) GoalActsTest::ofSomebodyElse),
        Arguments.of(
            "the other side",
            (Consumer<Goal>) g -> g.addExtension(PlanPerson.OURS + "side", new CodeType("right"))));
  }

  private static void ofSomebodyElse(Goal goal) {
    goal.setSubject(new Reference(PlanPerson.here().subject));
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource("notOfThePlan")
  void aGoalThatIsNotThePlansIsRefusedWithThePlan(String name, Consumer<Goal> spoil) {
    PlanPerson person = PlanPerson.here();
    person.send(person.baseline());
    CarePlan plan = person.enrolment();
    Goal own = own(plan.getSubject());
    spoil.accept(own);
    String urn = "urn:uuid:" + UUID.randomUUID();
    plan.addGoal(new Reference(urn));
    bring(urn, own, plan).statusCode(422).body("issue[0].expression[0]", containsString("Bundle."));
    assertEquals(List.of(), person.all(CarePlan.class));
  }

  @Test
  void aGoalOfAnotherPlanIsNotTakenOver() {
    PlanPerson person = PlanPerson.enrolled();
    CarePlan former = person.plan();
    former.setStatus(CarePlan.CarePlanStatus.COMPLETED);
    PlanPerson.put(former).statusCode(200);
    CarePlan next = person.enrolment();
    next.addGoal(new Reference("Goal/" + goal(person, "range").getIdElement().getIdPart()));
    PlanPerson.post(next).statusCode(422).body("issue[0].expression", hasItem("CarePlan.goal[0]"));
  }

  @Test
  void aGoalThatIsOverSetsNothing() {
    PlanPerson person = PlanPerson.here();
    person.send(person.baseline());
    CarePlan plan = person.enrolment();
    Goal own = own(plan.getSubject());
    own.setLifecycleStatus(Goal.GoalLifecycleStatus.CANCELLED);
    String urn = "urn:uuid:" + UUID.randomUUID();
    plan.addGoal(new Reference(urn));
    bring(urn, own, plan).statusCode(200);
    assertEquals(4, person.all(Goal.class).size());
  }

  private static Goal own(Reference subject) {
    Goal own = new Goal();
    own.setLifecycleStatus(Goal.GoalLifecycleStatus.ACTIVE);
    own.setDescription(new CodeableConcept().setText("Sit on her heels in the garden"));
    own.setSubject(subject);
    own.addTarget()
        .setMeasure(
            new CodeableConcept()
                .addCoding(
                    new org.hl7.fhir.r4.model.Coding(REPORT_ITEM, "comfortable-flexion", null)))
        .setDetail(quantity("128", "deg"));
    return own;
  }

  /** The plan stands before its Goal in the Bundle. */
  private static ValidatableResponse bring(String urn, Goal own, CarePlan plan) {
    Bundle bundle = new Bundle();
    bundle.setType(Bundle.BundleType.TRANSACTION);
    bundle
        .addEntry()
        .setResource(plan)
        .getRequest()
        .setMethod(Bundle.HTTPVerb.POST)
        .setUrl("CarePlan");
    bundle
        .addEntry()
        .setFullUrl(urn)
        .setResource(own)
        .getRequest()
        .setMethod(Bundle.HTTPVerb.POST)
        .setUrl("Goal");
    return given()
        .contentType(Fhir.JSON)
        .body(PlanPerson.json(bundle))
        .post(PlanPerson.BASE)
        .then();
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
