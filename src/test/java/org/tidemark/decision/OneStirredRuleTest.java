package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.response.ResponsePolicy;

/** One stirred session among the last four answered keeps the plan where it is. Common practice. */
class OneStirredRuleTest {
  @ParameterizedTest(name = "{0}")
  @ValueSource(strings = {"1 0 0", "0 1 0", "0 0 1", "0 0 0 unwilling"})
  void oneIsEnoughToStay(String day) {
    Story story = Story.bendingKnee().begins().quiet(3).day(day);
    assertEquals(Verdict.MAINTAIN, story.verdict());
    assertTrue(story.says(Reason.ONE_STIRRED));
  }

  @ParameterizedTest(name = "{0} settled after it: still held {1}")
  @CsvSource({"3, true", "4, false"})
  void itLeavesTheLastFour(int settled, boolean held) {
    Story story = Story.bendingKnee().begins().day("1 0 0").quiet(settled);
    assertEquals(held, story.says(Reason.ONE_STIRRED));
  }

  @ParameterizedTest(name = "heel, {0} settled after it: still held {1}")
  @CsvSource({"0, true", "3, true", "4, false"})
  void theHeelRaise(int settled, boolean held) {
    Story story = Story.heel().begins().day("1 0 0").quiet(settled);
    assertEquals(held, story.says(Reason.ONE_STIRRED));
  }

  /** A session at something easier is no evidence, but its symptoms are. */
  @Test
  void anEasierSessionThatStirredCounts() {
    Story story = Story.bendingKnee().begins().quiet(1);
    story.sessionAt("split-squat-rock", "step-height", "51 cm").passes(1).morning("1");
    assertTrue(story.says(Reason.ONE_STIRRED));
  }

  /** Two points are safe under pain monitoring (Thomeé 1997), so they stir nothing. */
  @Test
  void thePolicyOfThePlanDecides() {
    Story story = Story.bendingKnee().under(ResponsePolicy.PAIN_MONITORED).begins().day("2 2 0");
    assertFalse(story.says(Reason.ONE_STIRRED));
    story.day("3 0 0");
    assertTrue(story.says(Reason.ONE_STIRRED));
  }
}
