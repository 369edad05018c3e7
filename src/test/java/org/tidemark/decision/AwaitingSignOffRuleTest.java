package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.junit.jupiter.api.Test;
import org.tidemark.programme.Precaution;

/**
 * A new stage and the first added load wait for a clinician, every upward change where the plan
 * says so; easing never waits.
 */
class AwaitingSignOffRuleTest {
  @Test
  void aNewStageWaits() {
    Story story = Story.knee().begins().quietUntil(s -> s.state.control().awaiting().isPresent());
    assertTrue(story.decision().proposed());
    assertEquals("body-weight", story.decision().proposal().get(0).stage());
    assertEquals("unloaded", story.state.inForce().get(0).stage());
    story.quiet(3);
    assertTrue(story.says(Reason.AWAITING_SIGN_OFF));
    assertEquals(Verdict.MAINTAIN, story.verdict());
    assertEquals("body-weight", story.decision().proposal().get(0).stage());
  }

  @Test
  void aChangeWithinTheStageDoesNot() {
    Story story = Story.bendingKnee().begins().quiet(7);
    assertFalse(story.decision().proposed());
    assertEquals("2 × 10", story.dose("split-squat-rock"));
  }

  @Test
  void theHeelRaisesFirstLoadWaits() {
    Story story = Story.heel().begins().quietUntil(s -> s.state.control().awaiting().isPresent());
    story.expectAsked("standing-heel-raise", "dumbbell-load", "0 kg");
    story.quiet(5);
    story.expectAsked("standing-heel-raise", "dumbbell-load", "0 kg");
    story.accepted();
    story.expectAsked("standing-heel-raise", "dumbbell-load", "2 kg");
  }

  @Test
  void theSecondLoadDoesNot() {
    Story story =
        Story.heel().begins().quietUntil("standing-heel-raise", "dumbbell-load", "2 kg").quiet(18);
    assertFalse(story.says(Reason.AWAITING_SIGN_OFF));
    story.quietUntil("standing-heel-raise", "dumbbell-load", "5 kg");
  }

  @Test
  void everyChangeWaitsWhereThePlanSaysSo() {
    Story story = Story.heel().under(ChangeControl.EVERY_CHANGE).begins().quiet(7);
    assertTrue(story.decision().proposed());
    assertEquals("2 × 8", story.dose("standing-heel-raise"));
    story.accepted();
    assertEquals("2 × 10", story.dose("standing-heel-raise"));
  }

  @Test
  void easingDoesNotWait() {
    Story story = Story.bendingKnee().under(ChangeControl.EVERY_CHANGE).begins().quiet(7);
    story.accepted().day("0 0 2");
    assertEquals("1 × 10", story.dose("split-squat-rock"));
  }

  @Test
  void aFlareWithdrawsIt() {
    Story story = Story.knee().begins().quietUntil(s -> s.state.control().awaiting().isPresent());
    story.day("0 0 2");
    assertEquals(List.of(), story.decision().proposal());
    story.quiet(1);
    assertFalse(story.says(Reason.AWAITING_SIGN_OFF));
  }

  @Test
  void aLimitThatForbidsItWithdrawsIt() {
    Story story = Story.knee().begins().quietUntil(s -> s.state.control().awaiting().isPresent());
    story.limited(Precaution.Scope.LOADED, "knee-flexion", "", "90 deg");
    assertEquals(List.of(), story.decision().proposal());
  }
}
