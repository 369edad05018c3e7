package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.util.Optional;
import org.junit.jupiter.api.Test;

/**
 * A complete baseline leads to a first prescription: the first way in whose conditions hold. Common
 * practice; the ways in are the programme's own.
 */
class PlacedRuleTest {
  @Test
  void theKneeBeginsUnloaded() {
    Story story = Story.knee().begins();
    story.expect(Verdict.PLACE, Reason.PLACED);
    story.expectAsked("quadruped-rock-back", "towel-thickness", "8 cm");
  }

  @Test
  void theHeelRaiseBeginsOnTwoLegsOnTheFloorWithBothHands() {
    Story story = Story.heel().begins();
    story.expect(Verdict.PLACE, Reason.PLACED);
    story.expectAsked("standing-heel-raise", "legs-used", "two-legs");
    story.expectAsked("standing-heel-raise", "drop-height", "0 cm");
    story.expectAsked("standing-heel-raise", "hand-assist", "two-hands");
    assertEquals("2 × 8", story.dose("standing-heel-raise"));
  }

  /** Without a rail the hands have nothing to hold. */
  @Test
  void theHeelRaiseWithoutSupportBeginsWithoutHands() {
    Story story = Story.heel().doesNotOwn("hand-support").begins();
    story.expectAsked("standing-heel-raise", "hand-assist", "none");
  }

  @Test
  void nobodyIsPlacedBeforeThePlanBegins() {
    Story story = Story.heel().baseline().equipment();
    assertEquals(Optional.empty(), story.state.last());
  }

  @Test
  void theHeelRaiseIsPlacedOnce() {
    Story story = Story.heel().begins().quiet(3).baseline();
    assertEquals(1, story.decisions.stream().filter(d -> d.verdict() == Verdict.PLACE).count());
  }
}
