package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/**
 * Two stirred among the last four answered sessions at a setting ease the plan by one change; one
 * does not. Common practice.
 */
class TwoStirredRuleTest {
  @ParameterizedTest(name = "{0} settled in between: eased {1}")
  @CsvSource({"0, true", "1, true", "2, true", "3, false"})
  void amongTheLastFour(int settled, boolean eased) {
    Story story = Story.bendingKnee().begins().quiet(8);
    story.day("1 0 0").quiet(settled).day("1 0 0");
    assertEquals(eased, story.hasSaid(Reason.TWO_STIRRED));
    assertEquals(eased ? "1 × 10" : "2 × 10", story.dose("split-squat-rock"));
  }

  @ParameterizedTest(name = "heel, {0} settled in between: {1}")
  @CsvSource({"2, 2 × 8", "3, 2 × 10"})
  void theHeelRaise(int settled, String dose) {
    Story story =
        Story.heel().begins().quietUntil(s -> s.dose("standing-heel-raise").equals("2 × 10"));
    story.day("0 1 0").quiet(settled).day("0 1 0");
    assertEquals(dose, story.dose("standing-heel-raise"));
  }

  /** The count begins anew with what stands. */
  @Test
  void whatStirredAtAnotherSettingDoesNotCount() {
    Story story = Story.bendingKnee().begins().day("1 0 0").quiet(1);
    story.setByHand("split-squat-rock", "step-height", "39 cm").day("1 0 0");
    assertEquals(Verdict.MAINTAIN, story.verdict());
  }

  /** Quiet sessions at something easier do not push the stirred ones out of the last four. */
  @Test
  void easierSessionsDoNotDilute() {
    Story story = Story.bendingKnee().begins().day("1 0 0");
    for (int i = 0; i < 4; i++) {
      story.sessionAt("split-squat-rock", "step-height", "51 cm").passes(1).morning("0");
    }
    story.day("1 0 0");
    assertTrue(story.hasSaid(Reason.TWO_STIRRED));
  }

  /** A change that was undone for it needs more evidence the next time. */
  @Test
  void itCountsAsAFailedStep() {
    Story story = Story.bendingKnee().begins().quiet(7).day("1 0 0").day("1 0 0");
    assertEquals("1 × 10", story.dose("split-squat-rock"));
    story.quiet(7);
    assertTrue(story.says(Reason.BACK_OFF));
  }
}
