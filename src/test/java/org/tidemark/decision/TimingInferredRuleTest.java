package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.quantity.PainScore;

/**
 * A pain score that does not say when it was felt belongs where its own time says, and the decision
 * says that this was inferred. Common practice.
 */
class TimingInferredRuleTest {
  /** The session lasts from 18:00 to 18:20; pain counts as after it for two hours. */
  @ParameterizedTest(name = "a score of 3 at {0}: during {1}, after {2}")
  @CsvSource({"18:00, 3, 0", "18:20, 3, 0", "18:21, 0, 3", "20:20, 0, 3", "20:21, 0, 0"})
  void aScoreOfTheEvening(String time, int during, int after) {
    Story story = Story.bendingKnee().begins().session("0 0").painAt(time, 3);
    Diary.Entry entry = story.state.diary().newest().orElseThrow();
    assertEquals(Optional.of(PainScore.of(during)), entry.session().during());
    assertEquals(Optional.of(PainScore.of(after)), entry.session().after());
    assertEquals(during + after > 0, story.says(Reason.TIMING_INFERRED));
  }

  /** Four in the morning to noon is a morning. */
  @ParameterizedTest(name = "a score of 0 at {0}: a morning {1}")
  @CsvSource({"03:59, false", "04:00, true", "12:00, true", "12:01, false"})
  void aScoreOfTheMorning(String time, boolean morning) {
    Story story = Story.bendingKnee().begins().session("0 0").passes(1).painAt(time, 0);
    assertEquals(!morning, story.says(Reason.MORNING_PENDING));
    assertEquals(morning, story.says(Reason.TIMING_INFERRED));
  }

  @ParameterizedTest(name = "heel raise, a morning of {0}: {1}")
  @CsvSource({"0, SETTLED", "1, STIRRED", "2, FLARED"})
  void theHeelRaise(int pain, org.tidemark.response.Response response) {
    Story story = Story.heel().begins().session("0 0").passes(1).painAt("07:30", pain);
    assertEquals(response, story.state.diary().newest().orElseThrow().response());
    assertTrue(story.says(Reason.TIMING_INFERRED));
  }

  @Test
  void theGreaterOfTwoScoresCounts() {
    Story story = Story.heel().begins().session("2 0").painAt("18:10", 1);
    assertEquals(
        Optional.of(PainScore.of(2)),
        story.state.diary().newest().orElseThrow().session().during());
  }

  @Test
  void aReportThatSaysWhenIsNotInferred() {
    assertFalse(Story.heel().begins().quiet(3).hasSaid(Reason.TIMING_INFERRED));
  }

  /** Two reports of one morning are one morning; neither takes back what the other said. */
  @Test
  void aMorningIsToldInParts() {
    Story story = Story.bendingKnee().begins().session("0 0").passes(1).painAt("06:30", 3);
    story.morning("-", false, true);
    assertEquals(
        Optional.of(PainScore.of(3)),
        story.state.diary().newest().orElseThrow().morning().orElseThrow().pain());
  }
}
