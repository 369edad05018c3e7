package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.junit.jupiter.api.Test;

/** What can no longer be made is moved to the nearest easier setting that can. Common practice. */
class EquipmentGoneRuleTest {
  @Test
  void aRollThatIsGoneLeavesTheThickerOne() {
    Story story = Story.knee().owns("towel-roll", "4 cm", "6 cm").knows("gap", "4 cm").begins();
    story.expectAsked("quadruped-rock-back", "towel-thickness", "4 cm");
    story.owns("towel-roll", "6 cm").equipment();
    story.expect(Verdict.REGRESS, Reason.EQUIPMENT_GONE);
    story.expectAsked("quadruped-rock-back", "towel-thickness", "6 cm");
  }

  @Test
  void moreEquipmentChangesNothing() {
    Story story = Story.knee().begins().owns("towel-roll", "4 cm", "4 cm", "2 cm").equipment();
    assertFalse(story.says(Reason.EQUIPMENT_GONE));
    story.expectAsked("quadruped-rock-back", "towel-thickness", "8 cm");
  }

  @Test
  void withNothingEasierExerciseIsWithheld() {
    Story story = Story.knee().begins().doesNotOwn("towel-roll").equipment();
    assertEquals(Verdict.WITHHOLD, story.verdict());
    assertTrue(story.says(Reason.NOTHING_EASIER));
  }

  @Test
  void withoutTheBookTheHeelStandsOnTheFloor() {
    Story story = Story.heel().begins().quietUntil("standing-heel-raise", "drop-height", "5 cm");
    story.doesNotOwn("book").equipment();
    story.expect(Verdict.REGRESS, Reason.EQUIPMENT_GONE);
    story.expectAsked("standing-heel-raise", "drop-height", "0 cm");
  }

  /** A proposal that can no longer be made is withdrawn. */
  @Test
  void aProposalGoesWithTheEquipment() {
    Story story = Story.heel().begins().quietUntil(s -> s.state.control().awaiting().isPresent());
    assertEquals(1, story.decision().proposal().size());
    story.doesNotOwn("dumbbell-pair").equipment();
    assertEquals(List.of(), story.decision().proposal());
    assertFalse(story.says(Reason.AWAITING_SIGN_OFF));
  }
}
