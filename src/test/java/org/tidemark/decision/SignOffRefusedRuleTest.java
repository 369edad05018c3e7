package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/**
 * A clinician refuses a proposal: the plan stays, its evidence begins anew, and the same change
 * needs twice as much.
 */
class SignOffRefusedRuleTest {
  @Test
  void itStaysAndNeedsTwiceTheEvidence() {
    Story story = Story.bendingKnee().under(ChangeControl.EVERY_CHANGE).begins().quiet(7);
    story.refused();
    assertEquals(Verdict.MAINTAIN, story.verdict());
    assertTrue(story.says(Reason.SIGN_OFF_REFUSED));
    assertEquals("1 × 10", story.dose("split-squat-rock"));
    assertEquals(List.of(), story.decision().proposal());
    story.quiet(12);
    assertFalse(story.decision().proposed());
    story.quiet(1);
    assertTrue(story.decision().proposed());
  }

  @ParameterizedTest(name = "heel raise, {0} settled after the refusal: proposed {1}")
  @CsvSource({"7, false", "12, false", "13, true"})
  void theHeelRaise(int settled, boolean proposed) {
    Story story = Story.heel().under(ChangeControl.EVERY_CHANGE).begins().quiet(7).refused();
    assertEquals(proposed, story.quiet(settled).decision().proposed());
  }

  @Test
  void aSecondRefusalDoublesAgain() {
    Story story = Story.heel().under(ChangeControl.EVERY_CHANGE).begins().quiet(7).refused();
    story.quiet(13).refused();
    assertEquals(List.of(4), List.copyOf(story.state.standing().factors().values()));
  }
}
