package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.util.List;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.programme.Precaution;

/**
 * A precaution that the exercise in force breaks moves it inside at once, by easing alone. The
 * clinician who sets it has the last word.
 */
class PrecautionBrokenRuleTest {
  @ParameterizedTest(name = "step of 34 cm, at least {0} cm: {1}")
  @CsvSource({"34, 34 cm", "34.1, 43 cm", "44, 51 cm"})
  void theNearestEasierSettingInside(String least, String step) {
    Story story =
        Story.bendingKnee()
            .begins()
            .limited(Precaution.Scope.ALL, "step-height", least + " cm", "");
    story.expectAsked("split-squat-rock", "step-height", step);
    assertEquals(!least.equals("34"), story.says(Reason.PRECAUTION_BROKEN));
    assertEquals(least.equals("34") ? Verdict.MAINTAIN : Verdict.REGRESS, story.verdict());
  }

  @ParameterizedTest(name = "heel, edge of 10 cm, at most {0} cm: {1}")
  @CsvSource({"10, 10 cm", "9.9, 5 cm", "4, 0 cm"})
  void theEdgeOfTheHeelRaise(String most, String edge) {
    Story story =
        Story.heel()
            .begins()
            .quietUntil("standing-heel-raise", "drop-height", "10 cm")
            .limited(Precaution.Scope.ALL, "drop-height", "", most + " cm");
    story.expectAsked("standing-heel-raise", "drop-height", edge);
  }

  /** No loaded bend beyond 90°: the split squat bends fully, so the way back is the last stage. */
  @Test
  void aLimitOnTheBendLeadsBackToTheUnloadedStage() {
    Story story =
        Story.knee()
            .begins()
            .quietUntil("split-squat-rock", "step-height", "34 cm")
            .limited(Precaution.Scope.LOADED, "knee-flexion", "", "90 deg");
    story.expect(Verdict.REGRESS, Reason.PRECAUTION_BROKEN);
    assertEquals("unloaded", story.state.inForce().get(0).stage());
  }

  @Test
  void whoeverBeganWithBodyWeightIsPlacedWithoutLoad() {
    Story story =
        Story.bendingKnee().begins().limited(Precaution.Scope.LOADED, "knee-flexion", "", "90 deg");
    story.expect(Verdict.REGRESS, Reason.PRECAUTION_BROKEN);
    assertEquals("unloaded", story.state.inForce().get(0).stage());
  }

  @Test
  void itNamesThePrecaution() {
    Story story =
        Story.bendingKnee().begins().limited(Precaution.Scope.ALL, "step-height", "36 cm", "");
    assertEquals(List.of("limit on step-height"), story.decision().precautions());
  }

  /** It begins on its first day, not on the day it was written. */
  @Test
  void itWaitsForItsFirstDay() {
    Story story = Story.bendingKnee().begins();
    Precaution now = story.limit(Precaution.Scope.ALL, "step-height", "36 cm", "");
    Precaution later =
        new Precaution(
            now.text(),
            now.scope(),
            now.measure(),
            now.least(),
            now.most(),
            now.from().plusDays(3),
            Optional.empty(),
            false,
            false);
    story.limited(later).quiet(2);
    story.expectAsked("split-squat-rock", "step-height", "34 cm");
    story.quiet(1);
    story.expectAsked("split-squat-rock", "step-height", "43 cm");
  }

  /** Where only the companion breaks it, the companion is what has changed. */
  @Test
  void theExerciseThatMovesIsNamed() {
    Story story = Story.knee().begins();
    story.setByHand("towel-flexion-stretch", "towel-thickness", "4 cm");
    story.limited(Precaution.Scope.ALL, "towel-thickness", "6 cm", "");
    story.expect(Verdict.REGRESS, Reason.PRECAUTION_BROKEN);
    Change change = story.decision().change().orElseThrow();
    assertEquals(Change.Kind.EASED, change.kind());
    assertEquals("towel-flexion-stretch", change.variation());
    assertEquals("towel-thickness 4 cm, 4 × 15 s held", change.from());
    assertEquals("towel-thickness 8 cm, 4 × 15 s held", change.to());
    story.expectAsked("quadruped-rock-back", "towel-thickness", "8 cm");
  }

  /** The way back to another stage is told as that. */
  @Test
  void aFreshStartIsToldByItsStage() {
    Story story =
        Story.bendingKnee().begins().limited(Precaution.Scope.LOADED, "knee-flexion", "", "90 deg");
    Change change = story.decision().change().orElseThrow();
    assertEquals("body-weight", change.from());
    assertEquals("unloaded", change.to());
    assertEquals(story.state.inForce().get(0).variation(), change.variation());
  }
}
