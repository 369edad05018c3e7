package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Set;
import org.junit.jupiter.api.Test;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;

/** A clinician has looked and lets the exercise go on as it was. */
class ResumedRuleTest {
  /** Stirred sessions that the clinician has looked at no longer add up, as flares do not. */
  @Test
  void whatStirredBeforeNoLongerWithholds() {
    Story story = Story.bendingKnee().owns("stair-count", "2").doesNotOwn("book").begins();
    story.quietUntil(s -> s.dose("split-squat-rock").equals("2 × 10"));
    for (int i = 0; i < 40 && !story.says(Reason.NOTHING_EASIER); i++) {
      story.day("1 0 0");
    }
    story.expect(Verdict.WITHHOLD, Reason.NOTHING_EASIER, Reason.TWO_STIRRED);
    story.resumed();
    assertEquals(Verdict.MAINTAIN, story.verdict());
    story.quiet(1);
    assertEquals(Verdict.MAINTAIN, story.verdict());
    assertTrue(!story.state.inForce().isEmpty());
  }

  @Test
  void whatStoodStandsAgain() {
    Story story = Story.bendingKnee().begins().quiet(8);
    List<Prescription> before = story.state.inForce();
    story.warning(Warning.GIVING_WAY).passes(3).resumed();
    assertEquals(Verdict.MAINTAIN, story.verdict());
    assertTrue(story.says(Reason.RESUMED));
    assertEquals(before, story.state.inForce());
    assertEquals(Set.of(), story.decision().warnings());
  }

  @Test
  void theHeelRaise() {
    Story story = Story.heel().begins().quiet(2).warning(Warning.CALF_PAIN).passes(1).resumed();
    assertTrue(story.says(Reason.RESUMED));
    assertEquals("2 × 8", story.dose("standing-heel-raise"));
  }

  @Test
  void aLimitIsNotLiftedByIt() {
    Story story = Story.bendingKnee().begins().warning(Warning.TRAUMA);
    story.limited(Precaution.Scope.ALL, "step-height", "36 cm", "").resumed();
    assertEquals(Verdict.REGRESS, story.verdict());
    story.expectAsked("split-squat-rock", "step-height", "43 cm");
  }

  @Test
  void aHoldIsNotLiftedByIt() {
    Story story = Story.heel().begins().held(true).resumed();
    assertEquals(Verdict.WITHHOLD, story.verdict());
  }
}
