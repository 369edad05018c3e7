package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.decision.PlanState.UpwardChange;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;

/** What a fact changes in what is known, before anything is decided. */
class AbsorbingTest {
  private static final String SQUAT = "split-squat-rock";
  private static final String ROCK = "quadruped-rock-back";
  private static final String STRETCH = "towel-flexion-stretch";

  /** One answered session, judged once for each report of its morning, is counted once. */
  @ParameterizedTest(name = "mornings {0}, then {1}: {2} answered, {3} unsettled")
  @CsvSource({"0, 0, 1, 0", "0, 1, 1, 1", "1, 0, 1, 0", "1, 1, 1, 1", "-, 0, 1, 0", "-, -, 0, 0"})
  void aSessionJudgedAgainIsCountedOnce(String first, String second, int answered, int unsettled) {
    Story story = Story.bendingKnee().begins().session("0 0").passes(1);
    story.morning(first).tell(later(story, second));
    Line line = story.state.standing().lines().get(0);
    assertEquals(answered, line.answered());
    assertEquals(unsettled, line.unsettled());
  }

  private static Fact later(Story story, String pain) {
    Fact.MorningAfter again =
        (Fact.MorningAfter) Story.bendingKnee().passes(1).morning(pain).facts.get(0);
    return new Fact.MorningAfter(again.at().plusHours(1), story.source(), again.morning());
  }

  /** Before anybody is placed a session is of no exercise, but a morning says what rest is. */
  @Test
  void whatIsReportedBeforeTheStart() {
    Story story = Story.bendingKnee().doesNotKnow("can-kneel").begins();
    assertEquals(Verdict.INCOMPLETE, story.verdict());
    story.session("0 0").painAt("19:00", 3).passes(1).morning("0");
    assertTrue(story.state.diary().sessions().isEmpty());
    assertEquals(1, story.state.diary().mornings().size());
  }

  /** The same equipment again, or a limit that it keeps, leaves a proposal waiting. */
  @Test
  void aProposalThatStandsGoesOnWaiting() {
    Story story = proposed();
    story.equipment();
    story.expect(Verdict.MAINTAIN, Reason.AWAITING_SIGN_OFF);
    story.limited(Precaution.Scope.ALL, "dumbbell-load", "", "1 kg");
    story.expect(Verdict.MAINTAIN, Reason.AWAITING_SIGN_OFF);
  }

  @Test
  void aProposalThatCannotBeMadeIsWithdrawn() {
    Story story = proposed().doesNotOwn("dumbbell-pair").equipment();
    assertFalse(story.state.control().awaiting().isPresent());
  }

  @Test
  void aProposalThatALimitForbidsIsWithdrawn() {
    Story story = proposed().limited(Precaution.Scope.ALL, "dumbbell-load", "", "0.5 kg");
    assertFalse(story.state.control().awaiting().isPresent());
  }

  /** The first dumbbells, of 1 kg, wait for a clinician. */
  private static Story proposed() {
    Story story = Story.bendingKnee().begins();
    story.quietUntil(
        s ->
            s.state.control().awaiting().stream()
                .flatMap(waiting -> waiting.lines().stream())
                .anyMatch(line -> line.prescription().stage().equals("loaded")));
    return story;
  }

  /** More than before by hand is a step up that can be undone, as much or less is none. */
  @ParameterizedTest(name = "from 2 × 10 to {0} × {1} by hand: a step up {2}")
  @CsvSource({"2, 11, true", "3, 10, true", "2, 10, false", "2, 9, false", "1, 10, false"})
  void doseByHand(int sets, int repetitions, boolean up) {
    Story story = Story.bendingKnee().begins().quiet(7);
    int before = story.state.standing().path().size();
    assertEquals("2 × 10", story.dose(SQUAT));
    story.setByHand(SQUAT, new Dose(sets, repetitions, 0, 0, 7));
    assertEquals(up ? before + 1 : before, story.state.standing().path().size());
  }

  @ParameterizedTest(name = "step from 34 cm to {0} by hand: a step up {1}")
  @CsvSource({"17 cm, true", "34 cm, false", "51 cm, false"})
  void settingByHand(String height, boolean up) {
    Story story = Story.bendingKnee().begins();
    story.setByHand(SQUAT, "step-height", height);
    assertEquals(up ? 1 : 0, story.state.standing().path().size());
  }

  @Test
  void aStepByHandSaysFromWhatToWhat() {
    Story story = Story.knee().begins();
    story.setByHand(STRETCH, "towel-thickness", "4 cm");
    Change change = newest(story);
    assertEquals(Change.Kind.OVERRIDE, change.kind());
    assertEquals(STRETCH, change.variation());
    assertEquals("towel-thickness 8 cm, 4 × 15 s held", change.from());
    assertEquals("towel-thickness 4 cm, 4 × 15 s held", change.to());
    story.setByHand(ROCK, new Dose(2, 10, 0, 0, 7));
    assertEquals(
        "hand-assist two-hands, toe-position tucked, towel-thickness 8 cm, 1 × 10",
        newest(story).from());
  }

  @Test
  void anExerciseThatJoinsComesFromNothing() {
    Story story = Story.bendingKnee().owns("slant-board", "10 deg").begins();
    Prescription board =
        new Prescription(
            "loaded",
            "slant-board-squat",
            story.prescription(SQUAT).setting().with("board-angle", Story.value("10 deg")),
            new Dose(2, 8, 0, 0, 7));
    story.tell(new Fact.Overridden(story.noon(), story.source(), board));
    assertEquals("", newest(story).from());
    assertEquals(
        List.of(SQUAT, "slant-board-squat"),
        story.state.inForce().stream().map(Prescription::variation).toList());
  }

  @Test
  void whatIsNoExerciseOfTheProgrammeIsRefused() {
    Story story = Story.bendingKnee().begins();
    Prescription unknown =
        new Prescription(
            "body-weight",
            "juggling",
            story.prescription(SQUAT).setting(),
            new Dose(1, 1, 0, 0, 7));
    Fact fact = new Fact.Overridden(story.noon(), story.source(), unknown);
    assertThrows(IllegalStateException.class, () -> story.tell(fact));
  }

  /** What reports lead to at once is undone to what was in force, with its own way up. */
  @Test
  void caughtUpKeepsTheWayUpToWhatWasInForce() {
    Story story = Story.bendingKnee().begins();
    List<List<Prescription>> inForce = new java.util.ArrayList<>();
    inForce.add(story.state.inForce());
    story.quietUntil(
        s -> {
          if (!s.state.inForce().equals(inForce.get(inForce.size() - 1))) {
            inForce.add(s.state.inForce());
          }
          return inForce.size() == 4;
        });
    List<UpwardChange> path = story.state.standing().path();
    assertEquals(3, path.size());
    story.tell(
        new Fact.CaughtUp(story.noon(), story.source(), inForce.get(1), story.state.inForce()));
    assertEquals(inForce.get(1), story.state.inForce());
    assertEquals(path.subList(0, 1), story.state.standing().path());
    assertEquals(
        Optional.of(inForce.get(3)),
        story.state.control().awaiting().map(PlanState.Awaiting::prescriptions));
  }

  private static Change newest(Story story) {
    List<UpwardChange> path = story.state.standing().path();
    return path.get(path.size() - 1).change();
  }
}
