package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.time.LocalDate;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.OptionalDouble;
import org.junit.jupiter.api.Test;
import org.tidemark.trend.OutcomeFigures.Asked;
import org.tidemark.trend.OutcomeFigures.Goal;
import org.tidemark.trend.OutcomeFigures.Period;
import org.tidemark.trend.OutcomeFigures.Plan;

/** Outcomes of invented plans, worked out by hand; the median against published times. */
class OutcomeFiguresTest {
  private static final LocalDate FIRST = LocalDate.of(2026, 3, 2);
  private static final Period MONTH = new Period(FIRST, FIRST.plusDays(27));

  private static Plan plan(List<Asked> asked, Optional<LocalDate> ended, Goal... goals) {
    return new Plan(10, 2, 9, asked, ended, List.of(goals));
  }

  private static Plan asking(Asked... asked) {
    return plan(List.of(asked), Optional.empty());
  }

  private static double asked(Plan... plans) {
    return OutcomeFigures.of(MONTH, List.of(plans)).asked();
  }

  @Test
  void ratesAreOfAllPlansTogether() {
    OutcomeFigures figures =
        OutcomeFigures.of(
            MONTH,
            List.of(
                asking(new Asked(FIRST, 7)),
                new Plan(2, 2, 5, List.of(), Optional.empty(), List.of())));
    assertEquals(4.0 / 12, figures.flareRate().getAsDouble());
    assertEquals(14.0 / 28, figures.adherence().getAsDouble());
  }

  @Test
  void thereIsNoRateOfNothing() {
    OutcomeFigures figures = OutcomeFigures.of(MONTH, List.of());
    assertEquals(OptionalDouble.empty(), figures.flareRate());
    assertEquals(OptionalDouble.empty(), figures.adherence());
    assertEquals(List.of(), figures.goals());
  }

  @Test
  void whatIsAskedIsCountedDayByDayWithinThePeriod() {
    // 28 days of three sessions a week; what was asked before the period began does not count.
    assertEquals(12, asked(asking(new Asked(FIRST.minusDays(70), 3))), 1e-9);
    // 7 days of 7 a week, 14 of nothing while exercise is withheld, 7 of 3.
    assertEquals(
        10,
        asked(
            asking(
                new Asked(FIRST, 7),
                new Asked(FIRST.plusDays(7), 0),
                new Asked(FIRST.plusDays(21), 3))),
        1e-9);
    // What begins after the period asks for nothing in it.
    assertEquals(0, asked(asking(new Asked(FIRST.plusDays(28), 7))), 1e-9);
  }

  @Test
  void aPlanAsksForNothingAfterItsLastDay() {
    List<Asked> daily = List.of(new Asked(FIRST, 7));
    assertEquals(8, asked(plan(daily, Optional.of(FIRST.plusDays(7)))), 1e-9);
    assertEquals(28, asked(plan(daily, Optional.of(FIRST.plusDays(400)))), 1e-9);
    assertEquals(0, asked(plan(daily, Optional.of(FIRST.minusDays(1)))), 1e-9);
  }

  /**
   * Weeks in remission of 21 children under 6-mercaptopurine (Freireich 1963, Blood 21:699-716, as
   * tabulated by Gehan 1965, Biometrika 52:203-23): 6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22
   * 23 25+ 32+ 32+ 34+ 35+; the published median is 23 weeks. The values are from memory.
   */
  @Test
  void theMedianIsThatOfPublishedTimes() {
    int[] relapsed = {6, 6, 6, 7, 10, 13, 16, 22, 23};
    int[] seen = {6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35};
    Period years = new Period(FIRST, FIRST.plusYears(2));
    List<Plan> plans = new ArrayList<>();
    for (int weeks : relapsed) {
      plans.add(
          plan(
              List.of(),
              Optional.empty(),
              new Goal("bend", FIRST, Optional.of(FIRST.plusWeeks(weeks)))));
    }
    for (int weeks : seen) {
      plans.add(
          plan(
              List.of(),
              Optional.of(FIRST.plusWeeks(weeks)),
              new Goal("bend", FIRST, Optional.empty())));
    }
    assertEquals(
        List.of(new OutcomeFigures.TimeToGoal("bend", 21, 9, OptionalDouble.of(23 * 7))),
        OutcomeFigures.of(years, plans).goals());
  }

  @Test
  void aGoalCountsByTheDayItBegan() {
    Goal before = new Goal("bend", FIRST.minusDays(1), Optional.of(FIRST));
    Goal after = new Goal("bend", FIRST.plusDays(28), Optional.empty());
    assertEquals(
        List.of(),
        OutcomeFigures.of(MONTH, List.of(plan(List.of(), Optional.empty(), before, after)))
            .goals());
  }

  @Test
  void aGoalThatIsReachedAfterThePeriodWasNotReachedInIt() {
    Goal late = new Goal("bend", FIRST, Optional.of(FIRST.plusDays(40)));
    assertEquals(
        List.of(new OutcomeFigures.TimeToGoal("bend", 1, 0, OptionalDouble.empty())),
        OutcomeFigures.of(MONTH, List.of(plan(List.of(), Optional.empty(), late))).goals());
  }
}
