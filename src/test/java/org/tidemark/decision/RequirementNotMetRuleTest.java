package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/**
 * A step that asks for something the person has not shown is not taken; what else can be done is.
 * Common practice.
 */
class RequirementNotMetRuleTest {
  /** A flat heel asks for a wall-lunge distance of 9 cm. */
  @ParameterizedTest(name = "wall lunge {0} cm: heel {1}")
  @CsvSource({"8.9, raised", "9, flat"})
  void theHeelGoesFlatAsTheAnkleAllows(String lunge, String heel) {
    Story story =
        Story.bendingKnee()
            .owns("dumbbell-pair", "2 kg", "4 kg", "6 kg", "8 kg", "10 kg")
            .knows("wall-lunge-distance", lunge + " cm")
            .knows("other-side-flexion", "150 deg")
            .begins()
            .quietUntil("split-squat-rock", "dumbbell-load", "10 kg")
            .quiet(40);
    story.expectAsked("split-squat-rock", "heel-position", heel);
    assertEquals(heel.equals("raised"), story.hasSaid(Reason.REQUIREMENT_NOT_MET));
  }

  @ParameterizedTest(name = "heel raise, stands on one leg {0}: {1}")
  @CsvSource({"yes, one-leg", "no, two-legs"})
  void oneLegAsksForStandingOnIt(String stands, String legs) {
    Story story = Story.heel().knows("can-stand-on-one-leg", stands).begins().quiet(60);
    story.expectAsked("standing-heel-raise", "legs-used", legs);
    assertEquals(
        stands.equals("no"),
        story.decisions.stream()
            .flatMap(d -> d.considered().stream())
            .anyMatch(c -> c.why() == Reason.REQUIREMENT_NOT_MET));
  }

  @Test
  void theHeelRaiseSaysWhatIsMissing() {
    Story story = Story.heel().knows("can-stand-on-one-leg", "no").begins();
    story.quietUntil(s -> s.says(Reason.REQUIREMENT_NOT_MET));
    story.expect(Verdict.MAINTAIN, Reason.REQUIREMENT_NOT_MET);
  }

  @Test
  void withoutStandingOnOneLegThereIsNoBodyWeightStage() {
    Story story = Story.knee().knows("can-stand-on-one-leg", "no").begins();
    story.quietUntil(s -> s.says(Reason.REQUIREMENT_NOT_MET));
    assertEquals("unloaded", story.state.inForce().get(0).stage());
    story.knows("can-stand-on-one-leg", "yes").baseline();
    assertEquals("body-weight", story.decision().proposal().get(0).stage());
  }

  @Test
  void withoutDumbbellsThereIsNoLoadedStage() {
    Story story = Story.bendingKnee().doesNotOwn("dumbbell-pair").begins();
    story.quietUntil(s -> s.says(Reason.REQUIREMENT_NOT_MET));
    story.expectAsked("split-squat-rock", "step-height", "0 cm");
    assertEquals(
        Optional.of(new Change.Piece("dumbbell-pair", Amount.of(1, Unit.KILOGRAM))),
        story.decision().considered().get(0).missing(),
        "the dumbbell that would open the way is named");
  }
}
