package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.programme.TestProgrammes;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.trend.Forecast;
import org.tidemark.trend.Plateau;

/** How the range that a goal is about has gone, as of its newest reading. */
class RangeCourseTest {
  private static final GoalDefinition RANGE = TestProgrammes.KNEE.goals().get(0);
  private static final GoalDefinition FLOOR = TestProgrammes.KNEE.goals().get(1);

  /** The baseline's 120 degrees and one reading a week after it. */
  private static Story weekly(int... degrees) {
    Story story = Story.knee().begins();
    for (int bend : degrees) {
      story.passes(7).measured("comfortable-flexion", bend + " deg");
    }
    return story;
  }

  private static RangeCourse course(Story story) {
    return RangeCourse.read(RANGE, story.state).orElseThrow();
  }

  @Test
  void itIsReadFromEveryReadingAndNamesThemAll() {
    Story story = weekly(120, 121, 120);
    RangeCourse course = course(story);
    assertEquals(RANGE, course.goal().goal());
    assertEquals(4, course.trend().series().readings().size());
    assertEquals(
        List.of(
            story.facts.get(0).source(),
            story.facts.get(3).source(),
            story.facts.get(4).source(),
            story.facts.get(5).source()),
        course.sources());
  }

  @Test
  void itsFiguresAreThoseOfItsTrend() {
    RangeCourse course = course(weekly(120, 120, 120, 120, 120, 120, 120, 120, 120));
    RangeFigures figures = course.figures();
    assertEquals("range", figures.goal());
    assertEquals(course.trend().at(), figures.at());
    assertEquals(course.trend().level(), figures.level());
    assertEquals(course.trend().slopePerWeek(), figures.slopePerWeek());
    assertEquals(course.trend().change(), figures.change());
    assertEquals(0, figures.outOfLine());
    assertEquals(course.plateau().map(Plateau::since), figures.stillSince());
  }

  @Test
  void anAbsurdReadingIsCounted() {
    RangeFigures figures = course(weekly(120, 121, 60, 120, 121, 120)).figures();
    assertEquals(1, figures.outOfLine());
  }

  /** The functional target of a knee that bends to 120 degrees is 135, the bath. */
  @Test
  void theForecastIsToTheGoal() {
    assertEquals(
        Optional.of(new Forecast.CannotBeForecast(Forecast.Reason.NO_CLEAR_DIRECTION)),
        course(weekly(120, 121, 120, 120)).forecast());
    assertEquals(
        Optional.of(new Forecast.CannotBeForecast(Forecast.Reason.ALREADY_REACHED)),
        course(weekly(120, 121, 120, 120).aims("range", "115 deg")).forecast());
  }

  /** A target in another unit is not one that an angle can reach. */
  @Test
  void noForecastToSomethingThatIsNoAngle() {
    assertEquals(Optional.empty(), course(weekly(120, 121).aims("range", "40 cm")).forecast());
    assertEquals(Optional.empty(), course(weekly(120, 121).aims("range", "yes")).forecast());
  }

  @Test
  void aGoalThatIsSetHasNoCourse() {
    Story story = weekly(120, 121);
    assertEquals(Optional.empty(), RangeCourse.read(FLOOR, story.state));
    assertEquals(Optional.empty(), RangeCourse.from(FLOOR, story.state));
  }

  @Test
  void anAngleThatWasNeverReadHasNoCourse() {
    PlanState state = PlanState.EMPTY;
    assertEquals(Optional.empty(), RangeCourse.read(RANGE, state));
    assertEquals(Optional.empty(), RangeCourse.from(RANGE, state));
  }

  /** The course is worked out anew when, and only when, what it is read from has changed. */
  @Test
  void whatItIsReadFromChangesWithReadingsAndTargetAlone() {
    Story story = weekly(120, 121);
    String before = RangeCourse.from(RANGE, story.state).orElseThrow();
    story.quiet(3);
    assertEquals(before, RangeCourse.from(RANGE, story.state).orElseThrow());
    story.aims("range", "140 deg");
    String aiming = RangeCourse.from(RANGE, story.state).orElseThrow();
    assertNotEquals(before, aiming);
    story.measured("comfortable-flexion", "122 deg");
    assertNotEquals(aiming, RangeCourse.from(RANGE, story.state).orElseThrow());
  }

  @Test
  void aDecisionCanBeToldWithIt() {
    Story story = weekly(120, 121);
    RangeFigures figures = course(story).figures();
    Decision told = story.decision().with(List.of(figures));
    assertEquals(List.of(figures), told.figures().ranges());
    assertEquals(story.decision(), told.with(List.of()));
    assertTrue(story.decision().figures().ranges().isEmpty(), "the fold leaves them out");
  }

  @Test
  void aGoalSaysWhereThePersonBegan() {
    GoalReading range = course(weekly(125)).goal();
    assertEquals(Optional.of(Amount.of(120, Unit.DEGREE)), range.first());
    assertEquals(Optional.of(Amount.of(125, Unit.DEGREE)), range.now());
    GoalReading floor = GoalReading.read(FLOOR, Story.bendingKnee().begins().state);
    assertEquals(Optional.empty(), floor.first());
    assertEquals(Optional.of(Amount.of(34, Unit.CENTIMETRE)), floor.now());
  }
}
