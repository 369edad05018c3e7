package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.util.List;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.programme.Precaution;

/**
 * A step that a precaution forbids is not taken; what else can be done is. The clinician who sets
 * it has the last word.
 */
class PrecautionLimitsRuleTest {
  /** The next step after 34 cm is 26 cm. */
  @ParameterizedTest(name = "at least {0} cm: 26 cm is taken {1}")
  @CsvSource({"26, true", "26.1, false"})
  void theStepIsTakenOnlyInside(String least, boolean taken) {
    Story story =
        Story.bendingKnee()
            .limited(Precaution.Scope.ALL, "step-height", least + " cm", "")
            .begins()
            .quiet(14);
    assertEquals(taken, story.asked("split-squat-rock", "step-height").equals("26 cm"));
    assertEquals(
        !taken,
        story.decision().considered().stream().anyMatch(c -> c.why() == Reason.PRECAUTION_LIMITS));
  }

  @Test
  void whenNothingElseIsLeftItIsTheReason() {
    Story story =
        Story.bendingKnee()
            .limited(Precaution.Scope.ALL, "step-height", "30 cm", "")
            .begins()
            .quietUntil(s -> s.says(Reason.PRECAUTION_LIMITS));
    story.expect(Verdict.MAINTAIN, Reason.PRECAUTION_LIMITS);
    story.expectAsked("split-squat-rock", "hand-assist", "none");
  }

  @Test
  void aStageBeyondALimitIsNotProposed() {
    Story story =
        Story.knee()
            .limited(Precaution.Scope.LOADED, "knee-flexion", "", "90 deg")
            .begins()
            .quietUntil(s -> s.says(Reason.PRECAUTION_LIMITS));
    assertEquals("unloaded", story.state.inForce().get(0).stage());
    assertEquals(List.of(), story.decision().proposal());
  }

  @ParameterizedTest(name = "heel, at most {0} kg: {1}")
  @CsvSource({"5, 5 kg", "4.9, 2 kg", "2, 2 kg"})
  void theHeelRaiseStaysUnderAWeight(String most, String load) {
    Story story =
        Story.heel()
            .limited(Precaution.Scope.ALL, "dumbbell-load", "", most + " kg")
            .begins()
            .quietUntil("standing-heel-raise", "dumbbell-load", "2 kg")
            .quiet(30);
    story.expectAsked("standing-heel-raise", "dumbbell-load", load);
  }
}
