package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;

import java.util.List;
import org.junit.jupiter.api.Test;
import org.tidemark.programme.Prescription;

/**
 * Reports that came together lead more than one step up: what was in force stays, and where they
 * lead waits for a clinician. Common practice: one change at a time.
 */
class SeveralStepsRuleTest {
  /** Three weeks of quiet days at once: two doses and a leg. */
  @Test
  void theHeelRaiseStaysAndWaits() {
    Story story = Story.heel().begins();
    List<Prescription> kept = story.state.inForce();
    story.quiet(21);
    List<Prescription> reached = story.state.inForce();
    together(story, kept, reached);
    story.expect(
        Verdict.MAINTAIN, Reason.AWAITING_SIGN_OFF, Reason.SEVERAL_STEPS, Reason.EVIDENCE_THIN);
    assertEquals(kept, story.state.inForce());
    assertEquals(reached, story.decision().proposal());
  }

  @Test
  void acceptedTheHeelRaiseGoesWhereTheReportsLead() {
    Story story = Story.heel().begins();
    List<Prescription> kept = story.state.inForce();
    story.quiet(21);
    List<Prescription> reached = story.state.inForce();
    together(story, kept, reached).accepted();
    assertEquals(reached, story.state.inForce());
    story.day("0 0 2");
    assertEquals(kept, story.state.inForce(), "a flare undoes all of it");
  }

  @Test
  void refusedTheHeelRaiseStays() {
    Story story = Story.heel().begins();
    List<Prescription> kept = story.state.inForce();
    story.quiet(21);
    together(story, kept, story.state.inForce()).refused();
    assertEquals(kept, story.state.inForce());
    assertEquals(List.of(), story.decision().proposal());
  }

  @Test
  void aFlareWithdrawsItForTheKnee() {
    Story story = Story.bendingKnee().begins().quiet(7);
    List<Prescription> kept = story.state.inForce();
    story.quietUntil("split-squat-rock", "step-height", "17 cm");
    together(story, kept, story.state.inForce());
    story.expectAsked("split-squat-rock", "step-height", "34 cm");
    story.day("0 0 2");
    assertEquals(List.of(), story.decision().proposal());
    assertEquals("1 × 10", story.dose("split-squat-rock"));
  }

  @Test
  void reportsOneByOneNeedNone() {
    assertFalse(Story.heel().begins().quiet(21).hasSaid(Reason.SEVERAL_STEPS));
  }

  private static Story together(Story story, List<Prescription> kept, List<Prescription> reached) {
    return story.tell(new Fact.CaughtUp(story.noon(), story.source(), kept, reached));
  }
}
