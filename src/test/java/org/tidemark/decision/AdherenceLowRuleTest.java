package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/**
 * At least 80 % of what was asked must have been done since the setting began, over two weeks at
 * the most. Common practice.
 */
class AdherenceLowRuleTest {
  @ParameterizedTest(name = "5 sessions in {0} days: {1}")
  @CsvSource({"5, true", "6, true", "7, false"})
  void fiveSessions(int days, boolean enough) {
    Story story = Story.knee().begins().quiet(1).passes(days - 5).quiet(4);
    assertEquals(!enough, story.says(Reason.ADHERENCE_LOW));
    assertEquals(enough ? Verdict.PROGRESS : Verdict.MAINTAIN, story.verdict());
  }

  /** 7 of 9 days are 78 %, 8 of 10 are 80 %, which is enough. */
  @Test
  void eightyPercentIsEnough() {
    Story story = Story.knee().begins().quiet(1).passes(2).quiet(6);
    assertTrue(story.says(Reason.ADHERENCE_LOW));
    story.quiet(1);
    assertEquals(0.80, story.decision().figures().adherence(), 1e-9);
    story.expect(Verdict.PROGRESS, Reason.SETTLED);
  }

  /** The heel raise is asked for three times a week. */
  @ParameterizedTest(name = "heel, a session every {0} days: {1}")
  @CsvSource({"2, true", "3, true", "4, false"})
  void threeTimesAWeek(int every, boolean enough) {
    Story story = Story.heel().begins();
    for (int i = 0; i < 6; i++) {
      story.quiet(1).passes(every - 1);
    }
    story.quiet(1);
    assertEquals(!enough, story.says(Reason.ADHERENCE_LOW));
  }

  /** A session of half the sets is half of what was asked. */
  @Test
  void halfTheSetsIsHalfTheDose() {
    Story whole = Story.bendingKnee().begins().quiet(7);
    Story story = Story.bendingKnee().begins().quiet(7);
    assertEquals("2 × 10", story.dose("split-squat-rock"));
    for (int i = 0; i < 7; i++) {
      story.sessionOfOneSet().passes(1).morning("0");
      whole.quiet(1);
    }
    assertEquals(Verdict.PROGRESS, whole.verdict());
    assertTrue(story.says(Reason.ADHERENCE_LOW));
    assertEquals(0.5, story.decision().figures().adherence(), 1e-9);
  }
}
