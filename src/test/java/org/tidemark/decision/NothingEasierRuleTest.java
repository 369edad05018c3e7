package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;

/**
 * Where easing is needed and nothing easier is at hand, exercise is withheld and a clinician is
 * asked. Common practice.
 */
class NothingEasierRuleTest {
  @Test
  void aFlareAtTheEasiestHeelRaiseWithholds() {
    Story story = Story.heel().begins().day("0 0 2");
    story.expect(Verdict.WITHHOLD, Reason.NOTHING_EASIER, Reason.FLARE, Reason.UNQUIET_MORNING);
    assertTrue(story.decision().reviewAsked());
  }

  @Test
  void oneDoseAboveTheEasiestIsEased() {
    Story story =
        Story.heel()
            .begins()
            .quietUntil(s -> s.dose("standing-heel-raise").equals("2 × 10"))
            .day("0 0 2");
    story.expect(Verdict.REGRESS, Reason.FLARE, Reason.UNQUIET_MORNING);
    assertEquals("2 × 8", story.dose("standing-heel-raise"));
  }

  @Test
  void itLastsUntilAClinicianResumes() {
    Story story = Story.heel().begins().day("0 0 2").quiet(3);
    assertTrue(story.says(Reason.NOTHING_EASIER));
    story.resumed();
    assertEquals(Verdict.MAINTAIN, story.verdict());
  }

  /** Rolls and books are used up: the kneeling bench without a bench has towel and dose alone. */
  @Test
  void aKneeAtItsEasiestIsWithheldToo() {
    Story story =
        Story.knee()
            .knows("can-kneel", "no")
            .begins()
            .setByHand("towel-flexion-stretch", "towel-thickness", "8 cm");
    story.day("0 0 2");
    assertEquals(Verdict.REGRESS, story.verdict(), "the companion's dose can still be eased");
    story.day("0 0 2");
    assertEquals(Verdict.REGRESS, story.verdict(), "once more");
    story.passes(15).day("0 0 2");
    assertTrue(story.says(Reason.NOTHING_EASIER));
  }
}
