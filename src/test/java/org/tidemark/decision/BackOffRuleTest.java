package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/**
 * A change that failed needs twice the evidence the next time, up to eight times; a success halves
 * it. Common practice.
 */
class BackOffRuleTest {
  /** 13 in a row for body weight at factor 2: the number of the second library. */
  @ParameterizedTest(name = "{0} settled after the failure: {1}")
  @CsvSource({"6, EVIDENCE_THIN", "7, BACK_OFF", "12, BACK_OFF", "13, SETTLED"})
  void twiceTheEvidence(int settled, Reason reason) {
    Story story = Story.bendingKnee().begins().quiet(7).day("0 0 2");
    assertEquals("1 × 10", story.dose("split-squat-rock"));
    story.quiet(settled);
    assertTrue(story.says(reason), story.reasons().toString());
  }

  @ParameterizedTest(name = "heel, {0} settled after the failure: {1}")
  @CsvSource({"7, BACK_OFF", "12, BACK_OFF", "13, SETTLED"})
  void theHeelRaise(int settled, Reason reason) {
    Story story =
        Story.heel().begins().quietUntil(s -> s.dose("standing-heel-raise").equals("2 × 10"));
    story.day("0 0 2").quiet(settled);
    assertTrue(story.says(reason), story.reasons().toString());
  }

  /** Failures two weeks apart: 2, 4, 8 and never more; enough settled sessions halve it. */
  @Test
  void itDoublesToEightAndIsHalvedBySuccess() {
    Story story = Story.bendingKnee().begins();
    for (int expected : new int[] {2, 4, 8, 8}) {
      story.quietUntil(s -> s.dose("split-squat-rock").equals("2 × 10")).day("0 0 2");
      assertEquals(List.of(expected), List.copyOf(story.state.standing().factors().values()));
      story.quiet(15);
    }
    story.quietUntil(s -> s.dose("split-squat-rock").equals("2 × 10")).quiet(6);
    assertEquals(List.of(8), List.copyOf(story.state.standing().factors().values()));
    story.quiet(1);
    assertEquals(List.of(4), List.copyOf(story.state.standing().factors().values()));
  }

  /** A flare at a setting that had proved itself undoes it, but is no failed step. */
  @Test
  void whatHadProvedItselfHasNotFailed() {
    Story story = Story.bendingKnee().begins().quiet(7);
    story.quietUntil("split-squat-rock", "step-height", "26 cm");
    story.quiet(6).day("0 0 0 no-contact");
    story.expectAsked("split-squat-rock", "step-height", "26 cm");
    story.day("0 0 2");
    story.expectAsked("split-squat-rock", "step-height", "34 cm");
    assertEquals(0, story.state.standing().factors().size());
  }

  @Test
  void itIsAmongWhatWasConsidered() {
    Story story = Story.bendingKnee().begins().quiet(7).day("0 0 2").quiet(8);
    assertTrue(story.decision().considered().stream().anyMatch(c -> c.why() == Reason.BACK_OFF));
  }
}
