package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.junit.jupiter.api.Test;
import org.tidemark.programme.Precaution;

/** A clinician sets an exercise by hand; the service says so and goes on from there. */
class ClinicianOverrideRuleTest {
  @Test
  void itGoesOnFromThere() {
    Story story = Story.bendingKnee().begins();
    story.setByHand("split-squat-rock", "step-height", "17 cm");
    story.expect(Verdict.MAINTAIN, Reason.CLINICIAN_OVERRIDE, Reason.EVIDENCE_THIN);
    story.expectAsked("split-squat-rock", "step-height", "17 cm");
    story.quiet(14);
    story.expectAsked("split-squat-rock", "step-height", "9 cm");
  }

  @Test
  void theEvidenceBeginsAnew() {
    Story story = Story.bendingKnee().begins().quiet(6);
    story.setByHand("split-squat-rock", "step-height", "39 cm").quiet(6);
    assertEquals("1 × 10", story.dose("split-squat-rock"));
    story.quiet(1);
    assertEquals("2 × 10", story.dose("split-squat-rock"));
  }

  @Test
  void aFlareAfterAHarderSettingUndoesIt() {
    Story story = Story.bendingKnee().begins().quiet(7);
    story.setByHand("split-squat-rock", "step-height", "17 cm").day("0 0 2");
    story.expectAsked("split-squat-rock", "step-height", "34 cm");
    assertEquals("2 × 10", story.dose("split-squat-rock"));
  }

  /** The clinician has made it easier; going back must not make it harder again. */
  @Test
  void aFlareAfterAnEasierSettingEasesFurther() {
    Story story =
        Story.bendingKnee().begins().quietUntil("split-squat-rock", "step-height", "26 cm");
    story.setByHand("split-squat-rock", "step-height", "51 cm").day("0 0 2");
    story.expectAsked("split-squat-rock", "step-height", "51 cm");
    assertEquals("1 × 10", story.dose("split-squat-rock"));
  }

  /** A hand may set what no pair at home weighs. */
  @Test
  void theHeelRaiseGoesOnFromAWeightThatIsNotOwned() {
    Story story = Story.heel().begins().quietUntil("standing-heel-raise", "dumbbell-load", "2 kg");
    story.setByHand("standing-heel-raise", "dumbbell-load", "4 kg");
    story.expectAsked("standing-heel-raise", "dumbbell-load", "4 kg");
    story.quietUntil("standing-heel-raise", "dumbbell-load", "5 kg");
  }

  @Test
  void theHeelRaiseEvenOnTheFirstDay() {
    Story story = Story.heel().begins().setByHand("standing-heel-raise", "legs-used", "one-leg");
    assertTrue(story.says(Reason.CLINICIAN_OVERRIDE));
    story.day("0 0 2");
    story.expectAsked("standing-heel-raise", "legs-used", "two-legs");
  }

  @Test
  void aPrecautionWinsOverAHand() {
    Story story =
        Story.bendingKnee().limited(Precaution.Scope.ALL, "step-height", "30 cm", "").begins();
    story.setByHand("split-squat-rock", "step-height", "17 cm");
    story.expectAsked("split-squat-rock", "step-height", "34 cm");
  }

  @Test
  void aProposalThatWaitedIsGone() {
    Story story = Story.heel().under(ChangeControl.EVERY_CHANGE).begins().quiet(7);
    story.setByHand("standing-heel-raise", "legs-used", "one-leg");
    assertEquals(List.of(), story.decision().proposal());
  }
}
