package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.programme.Precaution;

/**
 * A range short of its goal that has stood still for six weeks while sessions settle opens the
 * programme's options, in its order; a clinician answers each. Common practice.
 */
class RangeStalledRuleTest {
  private static final String SQUAT = "split-squat-rock";

  /** A plan that can go no further on the floor, at home with a slant board. */
  private static Story stuck() {
    return Story.bendingKnee()
        .doesNotOwn("dumbbell-pair")
        .owns("slant-board", "10 deg")
        .begins()
        .quietUntil(SQUAT, "hand-assist", "none");
  }

  /** Weeks without contact, in each of which the bend is read. */
  private static Story weeks(Story story, int weeks, String degrees) {
    for (int week = 0; week < weeks; week++) {
      for (int day = 0; day < 7; day++) {
        story.day("0 0 0 no-contact");
      }
      story.measured("comfortable-flexion", degrees + " deg");
    }
    return story;
  }

  @Test
  void theFirstOptionThatCanBeDoneIsProposed() {
    Story story = weeks(stuck(), 20, "120");
    assertTrue(story.hasSaid(Reason.RANGE_STALLED));
    Decision proposed =
        story.decisions.stream()
            .filter(d -> d.reasons().contains(Reason.RANGE_STALLED))
            .findFirst()
            .orElseThrow();
    assertTrue(proposed.proposed(), "a clinician answers it");
    Change change = proposed.change().orElseThrow();
    assertEquals(Change.Kind.STALL, change.kind());
    assertEquals("slant-board", change.to(), "there is no dumbbell to help the way down");
    assertEquals(
        List.of(SQUAT, "slant-board-squat"),
        proposed.proposal().stream().map(p -> p.variation()).toList());
    assertEquals(
        Optional.of(Reason.NO_FEASIBLE_CHANGE),
        proposed.considered().stream()
            .filter(c -> c.change().to().equals("small-load"))
            .map(Change.Considered::why)
            .findFirst());
  }

  @Test
  void theOptionsComeInTheProgrammesOrder() {
    Story story = stuck().owns("dumbbell-pair", "1 kg").equipment();
    assertEquals("small-load", firstTried(weeks(story, 20, "120")));
    story.accepted();
    story.expectAsked(SQUAT, "dumbbell-load", "1 kg");
    assertEquals("body-weight", story.prescription(SQUAT).stage());
  }

  private static String firstTried(Story story) {
    return story.decisions.stream()
        .filter(d -> d.reasons().contains(Reason.RANGE_STALLED))
        .flatMap(d -> d.change().stream())
        .map(Change::to)
        .findFirst()
        .orElse("none");
  }

  /** Six weeks are 42 days, the newest reading the last of them. */
  @Test
  void notBeforeSixWeeks() {
    Story story = weeks(stuck(), 30, "120");
    Decision proposed =
        story.decisions.stream()
            .filter(d -> d.reasons().contains(Reason.RANGE_STALLED))
            .findFirst()
            .orElseThrow();
    Story before = stuck();
    assertTrue(
        !proposed.asOf().isBefore(before.decision().asOf().plusDays(Stalling.STAYED_DAYS)),
        proposed.asOf().toString());
    assertFalse(weeks(before, 5, "120").hasSaid(Reason.RANGE_STALLED));
  }

  /** Two degrees a week is four times what is worthwhile to see. */
  @Test
  void notWhileTheRangeRises() {
    Story story = stuck();
    for (int week = 0; week < 7; week++) {
      weeks(story, 1, String.valueOf(120 + 2 * week));
    }
    assertFalse(story.hasSaid(Reason.RANGE_STALLED));
  }

  @ParameterizedTest(name = "goal set to {0}°: proposed {1}")
  @CsvSource({"120, false", "121, true"})
  void notWhereTheGoalIsMet(String goal, boolean proposed) {
    Story story = stuck().aims("range", goal + " deg");
    assertEquals(proposed, weeks(story, 20, "120").hasSaid(Reason.RANGE_STALLED));
  }

  @Test
  void notWhileSessionsAreStirred() {
    Story story = stuck();
    for (int week = 0; week < 20; week++) {
      for (int day = 0; day < 7; day++) {
        story.day(day % 3 == 0 ? "0 0 0 unwilling" : "0 0 0 no-contact");
      }
      story.measured("comfortable-flexion", "120 deg");
    }
    assertFalse(story.hasSaid(Reason.RANGE_STALLED));
  }

  /** Readings that ended more than four weeks ago say nothing of today. */
  @Test
  void notOnOldReadings() {
    Story story = Story.bendingKnee().doesNotOwn("dumbbell-pair").begins();
    weeks(story, 5, "120").quietUntil(SQUAT, "hand-assist", "none").quiet(80);
    assertFalse(story.hasSaid(Reason.RANGE_STALLED));
  }

  /** An option that was refused is not offered again; the next one is. */
  @Test
  void aRefusedOptionGivesWayToTheNext() {
    Story story = weeks(stuck(), 20, "120");
    story.refused();
    weeks(story, 20, "120");
    assertEquals(
        List.of("slant-board", "wall-stretch"),
        story.decisions.stream()
            .filter(d -> d.reasons().contains(Reason.RANGE_STALLED))
            .flatMap(d -> d.change().stream())
            .map(Change::to)
            .toList());
  }

  /** What was added goes on beside the next stage. */
  @Test
  void anAddedExerciseStays() {
    Story story = weeks(stuck(), 20, "120").accepted();
    story.owns("dumbbell-pair", "1 kg", "2 kg").equipment();
    story.quietUntil(SQUAT, "dumbbell-load", "1 kg");
    assertEquals("loaded", story.prescription(SQUAT).stage());
    assertEquals("10 deg", story.asked("slant-board-squat", "board-angle"));
  }

  /** Nobody who bears no load yet is given the board. */
  @Test
  void withoutLoadOnlyWhatBearsNone() {
    Story story =
        Story.knee().owns("slant-board", "10 deg").knows("can-stand-on-one-leg", "no").begins();
    story.quietUntil(s -> s.says(Reason.REQUIREMENT_NOT_MET));
    assertEquals("wall-stretch", firstTried(weeks(story, 20, "120")));
  }

  @ParameterizedTest(name = "heel raise, {0} weeks")
  @ValueSource(ints = {10, 30})
  void theHeelRaiseHasNoRangeToStall(int weeks) {
    Story story = Story.heel().begins();
    assertFalse(weeks(story, weeks, "120").hasSaid(Reason.RANGE_STALLED));
  }

  /** The trend is looked at once for each reading, and what was seen is remembered. */
  @Test
  void whatWasSeenIsRememberedUntilTheNextReading() {
    Story story = stuck();
    for (int week = 0; week < 20 && story.state.stall().lookedAt().isEmpty(); week++) {
      weeks(story, 1, "120");
    }
    PlanState.Stall seen = story.state.stall();
    assertEquals(Optional.of(newestReading(story)), seen.lookedAt());
    story.day("0 0 0 no-contact");
    assertEquals(seen, story.state.stall());
  }

  private static java.time.OffsetDateTime newestReading(Story story) {
    List<PlanState.Angle> angles = story.state.person().angles().get("comfortable-flexion");
    return angles.get(angles.size() - 1).reading().when();
  }

  /** An option is passed over with its reason. */
  @Test
  void whatThePersonCannotDoIsPassedOver() {
    Story story = stuck().knows("can-kneel", "no").doesNotOwn("slant-board").equipment().baseline();
    weeks(story, 20, "120");
    assertFalse(story.hasSaid(Reason.RANGE_STALLED));
    assertTrue(story.hasSaid(Reason.DWELL));
    Decision dwelling =
        story.decisions.stream()
            .filter(d -> d.reasons().contains(Reason.DWELL))
            .findFirst()
            .orElseThrow();
    assertEquals(Optional.of(Reason.NO_FEASIBLE_CHANGE), whyNot(dwelling, "small-load"));
    assertEquals(Optional.of(Reason.REQUIREMENT_NOT_MET), whyNot(dwelling, "slant-board"));
    assertEquals(Optional.of(Reason.REQUIREMENT_NOT_MET), whyNot(dwelling, "wall-stretch"));
  }

  @Test
  void anOptionThatALimitForbidsIsPassedOver() {
    Story story = stuck().limited(Precaution.Scope.ALL, "board-angle", "", "5 deg");
    weeks(story, 20, "120");
    assertEquals("wall-stretch", firstTried(story));
    Decision proposed =
        story.decisions.stream()
            .filter(d -> d.reasons().contains(Reason.RANGE_STALLED))
            .findFirst()
            .orElseThrow();
    assertEquals(Optional.of(Reason.PRECAUTION_LIMITS), whyNot(proposed, "slant-board"));
  }

  private static Optional<Reason> whyNot(Decision decision, String option) {
    return decision.considered().stream()
        .filter(c -> c.change().to().equals(option))
        .map(Change.Considered::why)
        .findFirst();
  }
}
