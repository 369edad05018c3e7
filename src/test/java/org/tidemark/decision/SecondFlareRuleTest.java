package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.time.LocalTime;
import java.time.OffsetDateTime;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.quantity.PainScore;
import org.tidemark.response.Morning;

/**
 * A second flare within 14 days, the last day included, eases again and asks a clinician to review.
 * Common practice.
 */
class SecondFlareRuleTest {
  @ParameterizedTest(name = "{0} days later: second flare {1}")
  @CsvSource({"1, true", "13, true", "14, true", "15, false"})
  void withinFourteenDays(int days, boolean second) {
    Story story = Story.bendingKnee().begins().day("0 0 2").quiet(days - 1).day("0 0 2");
    assertEquals(Verdict.REGRESS, story.verdict());
    assertEquals(second, story.says(Reason.SECOND_FLARE));
    assertEquals(second, story.decision().reviewAsked());
    assertTrue(story.says(Reason.FLARE));
  }

  /** Whether it shows itself in the session or on the morning after makes no difference. */
  @ParameterizedTest(name = "{0} days later: second flare {1}")
  @CsvSource({"14, true", "15, false"})
  void shownDuringTheSession(int days, boolean second) {
    Story story = Story.bendingKnee().begins().day("0 0 2").quiet(days - 1).session("6 0");
    assertEquals(second, story.says(Reason.SECOND_FLARE));
  }

  @Test
  void twoChangesAreUndone() {
    Story story =
        Story.bendingKnee().begins().quietUntil("split-squat-rock", "step-height", "26 cm");
    story.day("0 0 2").day("0 0 2");
    story.expectAsked("split-squat-rock", "step-height", "34 cm");
    assertEquals("1 × 10", story.dose("split-squat-rock"));
  }

  @Test
  void theHeelRaiseAsksForReviewToo() {
    Story story =
        Story.heel().begins().quietUntil(s -> s.dose("standing-heel-raise").equals("3 × 10"));
    story.day("0 0 2").day("0 0 2");
    story.expect(Verdict.REGRESS, Reason.FLARE, Reason.SECOND_FLARE, Reason.UNQUIET_MORNING);
    assertEquals("2 × 8", story.dose("standing-heel-raise"));
  }

  /** A morning answered in the evening, after the next session, still adds up. */
  @Test
  void shownByALateAnswer() {
    Story story = Story.bendingKnee().begins().day("0 0 2").quiet(13);
    story.session("0 0").passes(1).session("0 0");
    OffsetDateTime evening = story.at(LocalTime.of(21, 0));
    story.tell(
        new Fact.MorningAfter(
            evening,
            story.source(),
            new Morning(
                evening,
                Optional.of(PainScore.of(2)),
                Optional.empty(),
                Optional.empty(),
                Optional.empty(),
                Optional.empty())));
    assertTrue(story.says(Reason.SECOND_FLARE));
  }
}
