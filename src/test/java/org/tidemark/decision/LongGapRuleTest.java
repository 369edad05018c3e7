package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/**
 * More than 42 days without a session ask for a new baseline before anything goes on; 42 do not.
 * Common practice.
 */
class LongGapRuleTest {
  @ParameterizedTest(name = "{0} days: {1}")
  @CsvSource({"42, REGRESS", "43, WITHHOLD"})
  void aReportAfterTheGap(int days, Verdict verdict) {
    Story story = Story.bendingKnee().begins().quiet(8).passes(days - 1).session("0 0");
    assertEquals(verdict, story.verdict());
    assertEquals(verdict == Verdict.WITHHOLD, story.says(Reason.LONG_GAP));
  }

  @ParameterizedTest(name = "heel, {0} days: {1}")
  @CsvSource({"42, false", "43, true"})
  void theHeelRaiseToo(int days, boolean withheld) {
    Story story = Story.heel().begins().quiet(1).passes(days - 1).session("0 0");
    assertEquals(withheld, story.says(Reason.LONG_GAP));
  }

  @Test
  void itLastsUntilANewBaseline() {
    Story story = Story.bendingKnee().begins().quiet(8).passes(50).session("0 0").passes(1);
    story.resumed();
    assertTrue(story.says(Reason.LONG_GAP), "a word alone does not replace a baseline");
    story.knows("gap", "3 cm").doesNotKnow("contact").baseline();
    story.expect(Verdict.PLACE, Reason.PLACED);
    story.expectAsked("quadruped-rock-back", "towel-thickness", "4 cm");
  }

  /** Mornings are not sessions: after the easing for the gap the time goes on counting. */
  @Test
  void morningsAloneDoNotHideALongGap() {
    Story story = Story.bendingKnee().begins().quiet(8);
    int eased = 0;
    for (int day = 0; day < 60 && story.verdict() != Verdict.WITHHOLD; day++) {
      story.passes(1).morning("0");
      eased += story.verdict() == Verdict.REGRESS ? 1 : 0;
    }
    assertTrue(story.says(Reason.LONG_GAP));
    assertEquals(1, eased);
    assertEquals(Story.FIRST_DAY.plusDays(7 + 43), story.today);
  }
}
