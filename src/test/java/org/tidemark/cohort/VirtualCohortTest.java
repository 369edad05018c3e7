package org.tidemark.cohort;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Map;
import java.util.OptionalDouble;
import java.util.OptionalInt;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Setting;
import org.tidemark.programme.TestProgrammes;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.response.Response;
import org.tidemark.response.ResponsePolicy;
import org.tidemark.trend.Forecast;
import org.tidemark.trend.KaplanMeier;

/** Whether the machinery of the virtual cohort does what its report says. */
class VirtualCohortTest {
  private static final int PEOPLE = 60;
  private static final int WEEKS = 20;

  @Test
  void theSameSeedGivesTheSameLives() {
    assertEquals(run(7, 20, 12).outcomes(), run(7, 20, 12).outcomes());
    assertNotEquals(run(7, 20, 12).outcomes(), run(8, 20, 12).outcomes());
  }

  @Test
  void everyPolicyMeetsTheSamePeople() {
    run(3, 20, 8)
        .outcomes()
        .values()
        .forEach(
            outcomes ->
                assertEquals(
                    run(3, 20, 8).outcomes().get(ServiceRules.USUAL).stream()
                        .map(Outcome::person)
                        .toList(),
                    outcomes.stream().map(Outcome::person).toList()));
  }

  @Test
  void theLuckOfADayIsThePersonsOwn() {
    Person person = People.invent(1, 4, Scenario.USUAL);
    Luck once = person.luck(30);
    Luck again = People.invent(1, 4, Scenario.USUAL).luck(30);
    assertEquals(once.tolerance(), again.tolerance());
    assertArrayEquals(once.painNoise(), again.painNoise());
    assertNotEquals(once.tolerance(), person.luck(31).tolerance());
  }

  @Test
  void whoHasNothingThatHurtsNeverFlares() {
    Scenario painless = Scenario.OTHERS.get(Scenario.OTHERS.size() - 1);
    assertTrue(painless.painless());
    Cohort.run(TestProgrammes.KNEE_AS_SHIPPED, Study.POLICIES, painless, 1, PEOPLE, WEEKS)
        .outcomes()
        .forEach(
            (policy, outcomes) ->
                outcomes.forEach(o -> assertEquals(0, o.flares(), policy.title() + o)));
  }

  /** With fixed seed; the margin is wide: five to twenty times as many flares are usual. */
  @Test
  void theRulesFlareLessThanEveryPlainPolicy() {
    Cohort cohort = run(1, PEOPLE, WEEKS);
    List<Outcome> rules = cohort.outcomes().get(ServiceRules.USUAL);
    for (Policy plain : Study.POLICIES.subList(1, Study.POLICIES.size())) {
      Band times = Figures.of(cohort.outcomes().get(plain), rules, WEEKS).flaresBesideRules();
      assertTrue(times.low() > 1, plain.title() + " " + times);
    }
  }

  /** The vectors of the symptom-free rule: rest, during, after, morning, swollen, unwilling. */
  @ParameterizedTest(name = "rest {0}: {1}, {2}, {3}, swollen {4}, unwilling {5}: {6}")
  @CsvSource({
    "0, 0, 0, 0, false, false, SETTLED",
    "0, 1, 0, 0, false, false, STIRRED",
    "0, 0, 1, 0, false, false, STIRRED",
    "0, 0, 0, 1, false, false, STIRRED",
    "0, 0, 0, 2, false, false, FLARED",
    "0, 6, 0, 0, false, false, FLARED",
    "0, 0, 0, 0, false, true, STIRRED",
    "0, 0, 0, 0, true, false, FLARED",
    "2, 2, 2, 2, false, false, SETTLED",
    "2, 3, 2, 2, false, false, STIRRED",
    "2, 2, 2, 4, false, false, FLARED"
  })
  void whatIsFeltIsReadByTheRuleForSymptoms(
      int rest,
      int during,
      int after,
      int morning,
      boolean swollen,
      boolean unwilling,
      Response expected) {
    Felt felt = new Felt(0, during, after, true, 1);
    Woken woken = new Woken(morning, swollen, unwilling);
    assertEquals(expected, ResponsePolicy.SYMPTOM_FREE.judge(felt.with(rest, woken, false)));
  }

  @Test
  void stillWorseAfterADayIsAFlare() {
    Felt felt = new Felt(0, 0, 0, true, 1);
    assertEquals(
        Response.FLARED,
        ResponsePolicy.SYMPTOM_FREE.judge(felt.with(0, new Woken(1, false, false), true)));
  }

  @Test
  void whoDropsOutIsLostFromSight() {
    List<Outcome> outcomes =
        List.of(
            outcome(0, 5, OptionalInt.empty()),
            outcome(1, 84, OptionalInt.of(10)),
            outcome(2, 84, OptionalInt.of(20)));
    KaplanMeier curve = KaplanMeier.of(Figures.times(outcomes, Outcome::goalDay));
    assertEquals(1, curve.shareAfter(9));
    assertEquals(0.5, curve.shareAfter(10), 1e-12);
    assertEquals(0, curve.shareAfter(20), 1e-12);
    assertEquals(10, curve.median().orElseThrow());
  }

  @Test
  void anOpenEndHoldsALaterArrivalAndAClosedOneDoesNot() {
    Coverage.Tally tally = new Coverage.Tally();
    tally.plus(arrival(OptionalDouble.empty()), Double.POSITIVE_INFINITY);
    assertEquals(List.of(1, 0, 0), counts(tally));
    tally.plus(arrival(OptionalDouble.of(100)), Double.POSITIVE_INFINITY);
    assertEquals(List.of(1, 0, 1), counts(tally));
    tally.plus(arrival(OptionalDouble.of(100)), 0);
    assertEquals(List.of(1, 1, 1), counts(tally));
    tally.plus(arrival(OptionalDouble.of(100)), 100);
    assertEquals(List.of(2, 1, 1), counts(tally));
    tally.plus(new Forecast.CannotBeForecast(Forecast.Reason.STOPS_SHORT), 30);
    assertEquals(4, tally.made());
    assertEquals(1, tally.arrivedOfShort());
  }

  @Test
  void whereTheModelIsRightAHarderSettingAsksMore() {
    for (int n = 0; n < PEOPLE; n++) {
      TrueDemand demand =
          new TrueDemand(TestProgrammes.KNEE_AS_SHIPPED, People.invent(1, n, withoutMisfit()));
      assertEquals(1, asks(demand, "0", "none"), 1e-9, "the reference itself");
      assertTrue(asks(demand, "0", "two-hands") < asks(demand, "0", "none"));
      assertTrue(asks(demand, "17", "none") < asks(demand, "0", "none"));
    }
  }

  @Test
  void aPlainPolicyStartsWhereTheRulesDoAndTakesTheSmallestStep() {
    for (int n = 0; n < PEOPLE; n++) {
      Person person = People.invent(1, n, Scenario.USUAL);
      PlainSteps steps = new PlainSteps(TestProgrammes.KNEE_AS_SHIPPED, person);
      List<Prescription> start =
          ServiceRules.USUAL.begin(TestProgrammes.KNEE_AS_SHIPPED, person).asked();
      assertEquals(start, steps.now());
      if (start.isEmpty()) {
        continue;
      }
      steps.on();
      Prescription next = steps.now().get(0);
      boolean dose = !next.dose().equals(start.get(0).dose());
      assertEquals(1, (dose ? 1 : 0) + changed(start.get(0).setting(), next.setting()));
      steps.on();
      steps.back();
      steps.back();
      assertEquals(start, steps.now());
    }
  }

  private static long changed(Setting from, Setting to) {
    return from.values().entrySet().stream()
        .filter(value -> !value.getValue().equals(to.get(value.getKey())))
        .count();
  }

  private static Scenario withoutMisfit() {
    return new Scenario("the model is right", 1, 1, 0, 1, true, false);
  }

  private static double asks(TrueDemand demand, String step, String hands) {
    return demand
        .ofSetting(
            "split-squat-rock",
            new Setting(
                Map.of(
                    "step-height",
                    Amount.of(step, Unit.CENTIMETRE),
                    "hand-assist",
                    new Grade(hands),
                    "dumbbell-load",
                    Amount.zero(Unit.KILOGRAM),
                    "heel-position",
                    new Grade("raised"))))
        .orElseThrow();
  }

  @Test
  void theReportStandsAloneAndNamesEveryAssumption() {
    System.setProperty("java.awt.headless", "true");
    String page = Report.of(Study.of(TestProgrammes.KNEE_AS_SHIPPED, 1, 10, 6));
    assertTrue(page.contains("This is a simulation."));
    assertFalse(page.contains("src=\"http") || page.contains("href="), "loads nothing");
    for (Assumption assumption : Assumption.values()) {
      assertFalse(assumption.source().isBlank());
      assertTrue(page.contains(assumption.what().substring(0, 10)), assumption.what());
    }
  }

  private static Cohort run(long seed, int number, int weeks) {
    return Cohort.run(
        TestProgrammes.KNEE_AS_SHIPPED, Study.POLICIES, Scenario.USUAL, seed, number, weeks);
  }

  private static Outcome outcome(int person, int days, OptionalInt goal) {
    return new Outcome(
        person, days, 1, 0, 0, 0, goal, OptionalInt.empty(), 0, 0, 0, 0, 0, Map.of());
  }

  private static Forecast arrival(OptionalDouble latest) {
    return new Forecast.Arrival(10, 50, latest, 0.1, 0.2, 0.5);
  }

  private static List<Integer> counts(Coverage.Tally tally) {
    return List.of(tally.inside(), tally.early(), tally.late());
  }
}
