package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.junit.jupiter.api.Test;
import org.tidemark.programme.Prescription;

/** A clinician puts a plan on hold and takes it off again; nothing is in force in between. */
class PlanOnHoldRuleTest {
  @Test
  void nothingIsInForceOnHold() {
    Story story = Story.knee().begins().quiet(2).held(true);
    story.expect(Verdict.WITHHOLD, Reason.PLAN_ON_HOLD);
    assertEquals(List.of(), story.state.inForce());
    assertFalse(story.decision().reviewAsked());
  }

  @Test
  void offHoldItStandsAsItWas() {
    Story story = Story.knee().begins().quiet(7);
    List<Prescription> before = story.state.inForce();
    story.held(true).passes(3).held(false);
    assertEquals(before, story.state.inForce());
    assertFalse(story.says(Reason.PLAN_ON_HOLD));
  }

  @Test
  void theHeelRaiseIsHeldToo() {
    Story.heel().begins().held(true).expect(Verdict.WITHHOLD, Reason.PLAN_ON_HOLD);
  }

  /** Whoever put the plan on hold has looked already: a pending morning asks nobody else. */
  @Test
  void aPendingMorningOnHoldAsksForNoReview() {
    Story story = Story.knee().begins().quiet(1).session("0 0").passes(1).held(true);
    assertEquals(Verdict.WITHHOLD, story.verdict());
    assertFalse(story.decision().reviewAsked());
  }

  @Test
  void aFlareOnHoldIsAnsweredWhenTheHoldEnds() {
    Story story = Story.bendingKnee().begins().quiet(7);
    assertEquals("2 × 10", story.dose("split-squat-rock"));
    story.day("0 0 1").held(true).passes(1).morning("1");
    assertEquals(Verdict.WITHHOLD, story.verdict());
    story.held(false);
    assertEquals(Verdict.REGRESS, story.verdict());
    assertTrue(story.says(Reason.FLARE));
    assertEquals("1 × 10", story.dose("split-squat-rock"));
  }

  /** Nothing was asked on hold, so nothing was missed. */
  @Test
  void daysOnHoldAreNotMissed() {
    Story story = Story.bendingKnee().begins().quiet(6).held(true).passes(6).held(false);
    story.quiet(1);
    story.expect(Verdict.PROGRESS, Reason.SETTLED);
  }
}
