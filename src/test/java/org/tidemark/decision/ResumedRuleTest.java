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
