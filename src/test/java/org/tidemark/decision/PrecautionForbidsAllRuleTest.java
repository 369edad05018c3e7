package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.junit.jupiter.api.Test;
import org.tidemark.programme.Precaution;

/**
 * A precaution that forbids every setting leaves no exercise, and the answer says which precaution
 * it is. Common practice.
 */
class PrecautionForbidsAllRuleTest {
  @Test
  void nobodyIsPlacedAgainstAPrecautionOnEverything() {
    Story story = Story.knee().limited(Precaution.Scope.ALL, "", "", "").begins();
    story.expect(Verdict.WITHHOLD, Reason.PRECAUTION_FORBIDS_ALL);
    assertEquals(List.of("limit on "), story.decision().precautions());
    assertTrue(story.decision().reviewAsked());
  }

  @Test
  void theHeelRaiseIsLoadBearingAndStopsToo() {
    Story.heel()
        .limited(Precaution.Scope.LOADED, "", "", "")
        .begins()
        .expect(Verdict.WITHHOLD, Reason.PRECAUTION_FORBIDS_ALL);
  }

  @Test
  void aPrecautionOnUnloadedExercisesLeavesTheHeelRaiseAlone() {
    Story.heel()
        .limited(Precaution.Scope.UNLOADED, "", "", "")
        .begins()
        .expect(Verdict.PLACE, Reason.PLACED);
  }

  @Test
  void aRunningPlanStops() {
    Story story = Story.knee().begins().quiet(2).limited(Precaution.Scope.ALL, "", "", "");
    story.expect(Verdict.WITHHOLD, Reason.PRECAUTION_FORBIDS_ALL, Reason.PRECAUTION_BROKEN);
    assertEquals(List.of(), story.state.inForce());
  }

  /** The unloaded stage is closed, and body weight is no way to ease it. */
  @Test
  void somethingHarderIsNoWayOut() {
    Story story =
        Story.knee()
            .begins()
            .quiet(2)
            .knows("gap", "0 cm")
            .knows("contact", "yes")
            .baseline()
            .limited(Precaution.Scope.UNLOADED, "", "", "");
    assertEquals(Verdict.WITHHOLD, story.verdict());
  }

  /** Rolls of 4 and 8 cm are closed; 12 cm is still inside. */
  @Test
  void aPrecautionThatLeavesAnEasierStartDoesNotForbidAll() {
    Story story =
        Story.knee()
            .owns("towel-roll", "4 cm", "8 cm")
            .limited(Precaution.Scope.ALL, "towel-thickness", "9 cm", "")
            .begins();
    story.expect(Verdict.PLACE, Reason.PLACED);
    story.expectAsked("quadruped-rock-back", "towel-thickness", "12 cm");
  }
}
