package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/**
 * A session whose answers are not complete never counts toward progress. Common practice; evidence:
 * a missing next morning is held, never progressed.
 */
class MorningPendingRuleTest {
  @Test
  void theLastMorningIsWaitedFor() {
    Story story = Story.bendingKnee().begins().quiet(6).session("0 0");
    assertEquals(Verdict.MAINTAIN, story.verdict());
    assertTrue(story.says(Reason.MORNING_PENDING));
    story.passes(1).morning("0");
    assertEquals(Verdict.PROGRESS, story.verdict());
  }

  @ParameterizedTest(name = "{0}")
  @ValueSource(strings = {"- 0 0", "0 - 0", "0 0 -"})
  void anyMissingAnswerIsPending(String day) {
    Story story = Story.bendingKnee().begins().quiet(6).day(day);
    assertTrue(story.says(Reason.MORNING_PENDING));
    assertEquals(0, story.decision().figures().answered() - 6);
  }

  @Test
  void amongManySettledOnesTheNewestIsStillWaitedFor() {
    Story story = Story.heel().begins().quietEveryOtherDay(6).session("0 0");
    assertTrue(story.says(Reason.MORNING_PENDING));
    assertEquals(Verdict.MAINTAIN, story.verdict());
    story.passes(1).morning("0");
    assertEquals(Verdict.PROGRESS, story.verdict());
  }

  /** A late answer is as good as any. */
  @Test
  void theHeelRaiseMovesOnceThePainAfterIsKnown() {
    Story story = Story.heel().begins().quietEveryOtherDay(6);
    story.session("0 -").painAt("19:30", 0).passes(1).morning("0");
    assertEquals(Verdict.PROGRESS, story.verdict());
  }
}
