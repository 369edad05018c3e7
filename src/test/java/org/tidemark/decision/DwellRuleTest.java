package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;

/** At the end of the programme's options for a stall it is given time. Common practice. */
class DwellRuleTest {
  @Test
  void whereNothingCanBeAddedItIsGivenTime() {
    Story story =
        Story.bendingKnee()
            .doesNotOwn("dumbbell-pair")
            .knows("can-kneel", "no")
            .begins()
            .quietUntil("split-squat-rock", "hand-assist", "none");
    for (int week = 0; week < 20; week++) {
      for (int day = 0; day < 7; day++) {
        story.day("0 0 0 no-contact");
      }
      story.measured("comfortable-flexion", "120 deg");
    }
    assertTrue(story.hasSaid(Reason.DWELL));
    assertFalse(story.hasSaid(Reason.RANGE_STALLED));
    assertEquals(Verdict.MAINTAIN, story.verdict());
  }
}
