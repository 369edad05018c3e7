package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertFalse;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/** Where what is ready has nothing left to make harder, the plan stays. Common practice. */
class NothingNewRuleTest {
  /** Only the companion is done; once its towel is gone it has no further step of its own. */
  @Test
  void aCompanionThatIsDoneWaitsForTheLead() {
    Story story = Story.knee().owns("towel-roll", "4 cm").knows("gap", "4 cm").begins();
    for (int i = 0; i < 12; i++) {
      String towel = story.asked("towel-flexion-stretch", "towel-thickness");
      story.sessionAt("towel-flexion-stretch", "towel-thickness", towel).passes(1).morning("0");
    }
    story.expectAsked("towel-flexion-stretch", "towel-thickness", "0 cm");
    story.expect(Verdict.MAINTAIN, Reason.NOTHING_NEW);
  }

  @Test
  void withTheLeadDoneTooThereIsMore() {
    Story story = Story.knee().owns("towel-roll", "4 cm").knows("gap", "4 cm").begins().quiet(20);
    assertFalse(story.hasSaid(Reason.NOTHING_NEW));
  }

  /** The heel raise has one exercise, so there is always a more telling reason. */
  @ParameterizedTest(name = "heel raise, {0} days")
  @ValueSource(ints = {0, 1, 7, 60})
  void theHeelRaiseAlwaysHasAReason(int days) {
    assertFalse(Story.heel().begins().quiet(days).hasSaid(Reason.NOTHING_NEW));
  }
}
