package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Set;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.EnumSource;

/**
 * Exercise stops for every warning sign, at once, until a clinician has looked. Common practice,
 * after the groups of published red-flag lists.
 */
class WarningOpenRuleTest {
  @ParameterizedTest(name = "{0}")
  @EnumSource(Warning.class)
  void everySignStopsTheKnee(Warning sign) {
    Story story = Story.knee().begins().quiet(2).warning(sign);
    story.expect(Verdict.WITHHOLD, Reason.WARNING_OPEN);
    assertEquals(Set.of(sign), story.decision().warnings());
    assertEquals(List.of(), story.state.inForce());
    assertTrue(story.decision().reviewAsked());
  }

  @ParameterizedTest(name = "{0}")
  @EnumSource(Warning.class)
  void everySignStopsTheHeelRaise(Warning sign) {
    Story.heel().begins().warning(sign).expect(Verdict.WITHHOLD, Reason.WARNING_OPEN);
  }

  @Test
  void withoutASignThePlanGoesOn() {
    assertFalse(Story.knee().begins().quiet(2).says(Reason.WARNING_OPEN));
  }

  @Test
  void quietDaysDoNotLiftIt() {
    Story story = Story.knee().begins().quiet(2).warning(Warning.LOCKING).quiet(10);
    assertTrue(story.says(Reason.WARNING_OPEN));
    assertEquals(Verdict.WITHHOLD, story.verdict());
  }

  @Test
  void aSecondSignJoinsTheFirst() {
    Story story =
        Story.knee().begins().warning(Warning.FEVER).passes(1).warning(Warning.NIGHT_PAIN);
    assertEquals(Set.of(Warning.FEVER, Warning.NIGHT_PAIN), story.decision().warnings());
  }

  @Test
  void nobodyIsPlacedWhileASignIsOpen() {
    Story story = Story.knee().warning(Warning.TRAUMA).begins();
    story.expect(Verdict.WITHHOLD, Reason.WARNING_OPEN);
    story.resumed();
    assertEquals(Verdict.PLACE, story.verdict());
  }
}
