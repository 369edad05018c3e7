package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.util.List;
import org.junit.jupiter.api.Test;

/**
 * Enough settled sessions in a row: one thing is made harder, and one only. Beta posterior, see the
 * evidence rule.
 */
class SettledRuleTest {
  @Test
  void doseToItsBaseThenTheFirstVariable() {
    Story story = Story.bendingKnee().begins();
    story.quiet(7).expect(Verdict.PROGRESS, Reason.SETTLED);
    assertEquals("2 × 10", story.dose("split-squat-rock"));
    story.quiet(7).expect(Verdict.PROGRESS, Reason.SETTLED);
    story.expectAsked("split-squat-rock", "step-height", "26 cm");
    assertEquals("2 × 10", story.dose("split-squat-rock"));
  }

  @Test
  void theHeelRaiseBuildsItsDoseInTwoStepsThenStandsOnOneLeg() {
    Story story = Story.heel().begins();
    story.quiet(7);
    assertEquals("2 × 10", story.dose("standing-heel-raise"));
    story.quiet(7);
    assertEquals("3 × 10", story.dose("standing-heel-raise"));
    story.quiet(7);
    story.expectAsked("standing-heel-raise", "legs-used", "one-leg");
  }

  /** Two exercises are ready at once; they take turns, the one that has waited longest first. */
  @Test
  void exercisesTakeTurns() {
    Story story = Story.knee().begins();
    story.quiet(5);
    assertEquals("2 × 10", story.dose("quadruped-rock-back"), "at a tie the lead");
    story.quiet(5);
    story.expectAsked("towel-flexion-stretch", "towel-thickness", "4 cm");
    story.expectAsked("quadruped-rock-back", "towel-thickness", "8 cm");
    story.quiet(5);
    story.expectAsked("quadruped-rock-back", "towel-thickness", "4 cm");
  }

  @Test
  void theEvidenceOfEveryExerciseBeginsAnew() {
    Story story = Story.knee().begins().quiet(5);
    story.state.standing().lines().forEach(line -> assertEquals(0, line.answered()));
  }

  @Test
  void theHeelRaiseNamesOneChange() {
    Story story = Story.heel().begins().quiet(7);
    Change change = story.decision().change().orElseThrow();
    assertEquals(Change.Kind.DOSE, change.kind());
    assertEquals("2 × 8", change.from());
    assertEquals("2 × 10", change.to());
    assertEquals(List.of(), change.eased());
  }
}
