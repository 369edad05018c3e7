package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;

/**
 * A third flare within 14 days, the last day included, withholds exercise until a clinician has
 * looked. Common practice.
 */
class ThirdFlareRuleTest {
  @Test
  void theThirdOnTheFourteenthDayWithholds() {
    Story story = Story.bendingKnee().begins();
    story.day("0 0 2").quiet(5).day("0 0 2").quiet(7).day("0 0 2");
    story.expect(Verdict.WITHHOLD, Reason.THIRD_FLARE, Reason.FLARE, Reason.UNQUIET_MORNING);
    assertEquals(3, story.decision().figures().flaresIn14Days());
    assertTrue(story.decision().reviewAsked());
  }

  @Test
  void theThirdOnTheFifteenthDayDoesNot() {
    Story story = Story.bendingKnee().begins();
    story.day("0 0 2").quiet(5).day("0 0 2").quiet(8).day("0 0 2");
    story.expect(Verdict.REGRESS, Reason.FLARE, Reason.SECOND_FLARE, Reason.UNQUIET_MORNING);
  }

  /** A flare that shows itself during the session counts for the same day as one of the morning. */
  @Test
  void itDoesNotMatterWhenTheFlareShowsItself() {
    Story story = Story.bendingKnee().begins();
    story.day("6 0 0").quiet(5).day("0 0 2").quiet(7).session("6 0");
    assertTrue(story.says(Reason.THIRD_FLARE));
  }

  @Test
  void quietDaysDoNotResumeIt() {
    Story story = Story.bendingKnee().begins();
    story.days(
        """
        0 0 2
        0 0 2
        0 0 2
        0 0 0
        0 0 0
        """);
    assertEquals(Verdict.WITHHOLD, story.verdict());
    assertTrue(story.says(Reason.THIRD_FLARE));
  }

  @Test
  void aClinicianResumesItAndTheCountBeginsAnew() {
    Story story = Story.bendingKnee().begins();
    story.day("0 0 2").day("0 0 2").day("0 0 2").resumed();
    assertEquals(Verdict.MAINTAIN, story.verdict());
    story.day("0 0 2");
    assertTrue(story.says(Reason.FLARE));
    assertFalse(story.says(Reason.SECOND_FLARE));
  }

  @Test
  void theHeelRaiseStopsToo() {
    Story story =
        Story.heel().begins().quietUntil(s -> s.dose("standing-heel-raise").equals("3 × 10"));
    story.day("0 0 2").day("0 0 2").day("0 0 2");
    assertEquals(Verdict.WITHHOLD, story.verdict());
  }
}
