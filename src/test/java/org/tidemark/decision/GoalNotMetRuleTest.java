package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/**
 * At the end of the programme with a goal still open the plan stays and says so. Common practice.
 */
class GoalNotMetRuleTest {
  /** The other knee bends to 150°. */
  @ParameterizedTest(name = "this knee bends to {0}°: {1}")
  @CsvSource({"149, false", "150, true"})
  void theRangeOfTheOtherKnee(String bend, boolean met) {
    Story story = end(bend);
    assertEquals(met, story.hasSaid(Reason.GOALS_HELD));
    assertEquals(!met, story.hasSaid(Reason.GOAL_NOT_MET));
  }

  @Test
  void theBendThatComesLaterCompletesIt() {
    Story story = end("149").measured("comfortable-flexion", "151 deg");
    assertEquals(Verdict.COMPLETE, story.verdict());
  }

  private static Story end(String bend) {
    return Story.bendingKnee()
        .owns("dumbbell-pair", "2 kg", "4 kg", "6 kg", "8 kg", "10 kg")
        .knows("wall-lunge-distance", "12 cm")
        .knows("other-side-flexion", "150 deg")
        .knows("comfortable-flexion", bend + " deg")
        .begins()
        .quietUntil("split-squat-rock", "dumbbell-load", "10 kg")
        .quiet(40);
  }

  /** Whoever cannot stand on one leg does everything else and is not told to be done. */
  @ParameterizedTest(name = "heel raise, stands on one leg {0}: complete {1}")
  @CsvSource({"yes, true", "no, false"})
  void theHeelRaiseOnOneLeg(String stands, boolean complete) {
    Story story =
        Story.heel()
            .owns("dumbbell-pair", "2 kg", "4 kg", "6 kg", "8 kg", "10 kg")
            .knows("can-stand-on-one-leg", stands)
            .begins();
    for (int i = 0; i < 150; i++) {
      if (story.state.control().awaiting().isPresent()) {
        story.accepted();
      }
      story.quiet(1);
    }
    assertEquals(complete, story.hasSaid(Reason.GOALS_HELD));
  }

  @Test
  void theHeelRaiseWithoutTheLastDumbbellIsNotComplete() {
    Story story =
        Story.heel().begins().quietUntil("standing-heel-raise", "dumbbell-load", "5 kg").quiet(40);
    assertFalse(story.hasSaid(Reason.GOALS_HELD));
  }
}
