package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;

/**
 * Every goal is met and enough sessions there were settled: the exercise goes over to a maintenance
 * dose. Common practice.
 */
class GoalsHeldRuleTest {
  @Test
  void theHeelRaiseIsCompleteOnceItsLastLoadHasProvedItself() {
    Story story =
        Story.heel()
            .owns("dumbbell-pair", "2 kg", "4 kg", "6 kg", "8 kg", "10 kg")
            .begins()
            .quietUntil("standing-heel-raise", "dumbbell-load", "10 kg")
            .quietUntil(s -> s.dose("standing-heel-raise").equals("3 × 10"))
            .quiet(8);
    assertFalse(story.hasSaid(Reason.GOALS_HELD), "met, but not held yet");
    story.quiet(1);
    story.expect(Verdict.COMPLETE, Reason.GOALS_HELD);
  }

  @Test
  void oneStirredSessionPutsItOff() {
    Story story =
        Story.heel()
            .owns("dumbbell-pair", "2 kg", "4 kg", "6 kg", "8 kg", "10 kg")
            .begins()
            .quietUntil("standing-heel-raise", "dumbbell-load", "10 kg")
            .quietUntil(s -> s.dose("standing-heel-raise").equals("3 × 10"));
    story.day("1 0 0").quiet(16);
    assertFalse(story.hasSaid(Reason.GOALS_HELD));
    story.quiet(1);
    assertTrue(story.hasSaid(Reason.GOALS_HELD));
  }

  /** The ankle does not allow a flat heel: the programme ends there all the same. */
  @Test
  void theKneeIsCompleteWithARaisedHeel() {
    Story story =
        Story.bendingKnee()
            .owns("dumbbell-pair", "2 kg", "4 kg", "6 kg", "8 kg", "10 kg")
            .knows("wall-lunge-distance", "5 cm")
            .knows("comfortable-flexion", "135 deg")
            .begins()
            .quietUntil(s -> s.accepting().hasSaid(Reason.GOALS_HELD));
    story.expectAsked("split-squat-rock", "heel-position", "raised");
    story.expectAsked("split-squat-rock", "step-height", "0 cm");
    story.expectAsked("split-squat-rock", "dumbbell-load", "10 kg");
  }

  @Test
  void theHeelRaiseWithoutTheGoalsLoadNeverIs() {
    Story story =
        Story.heel().begins().quietUntil("standing-heel-raise", "dumbbell-load", "5 kg").quiet(60);
    assertFalse(story.hasSaid(Reason.GOALS_HELD));
  }
}
