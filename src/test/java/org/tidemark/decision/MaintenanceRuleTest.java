package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;

/**
 * Once every goal is met and held the exercise is kept up at the maintenance dose, and nothing is
 * made harder. Common practice.
 */
class MaintenanceRuleTest {
  @Test
  void theHeelRaiseIsKeptUpTwiceAWeek() {
    Story story = Story.complete();
    story.quiet(30);
    story.expect(Verdict.MAINTAIN, Reason.MAINTENANCE);
    assertEquals(2, story.prescription("standing-heel-raise").dose().timesPerWeek());
  }

  @Test
  void beforeItIsThreeTimesAWeek() {
    assertEquals(
        3, Story.heel().begins().prescription("standing-heel-raise").dose().timesPerWeek());
  }

  @Test
  void aFlareStillEases() {
    Story story = Story.complete().day("0 0 2");
    assertEquals(Verdict.REGRESS, story.verdict());
    story.quiet(3);
    assertFalse(story.says(Reason.MAINTENANCE));
  }

  @Test
  void theKneeIsKeptUpThreeTimesAWeek() {
    Story story =
        Story.bendingKnee()
            .owns("dumbbell-pair", "2 kg", "4 kg", "6 kg", "8 kg", "10 kg")
            .knows("wall-lunge-distance", "12 cm")
            .knows("comfortable-flexion", "135 deg")
            .begins()
            .quietUntil(s -> s.accepting().hasSaid(Reason.GOALS_HELD));
    assertEquals(3, story.prescription("split-squat-rock").dose().timesPerWeek());
    story.quiet(5);
    assertTrue(story.says(Reason.MAINTENANCE));
  }
}
