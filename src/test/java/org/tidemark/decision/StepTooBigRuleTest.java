package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;

import java.util.List;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/**
 * A step larger than the comfortable one is first bridged by dose, then by one easing change; with
 * nothing to ease the plan stays and the missing piece is named. Common practice.
 */
class StepTooBigRuleTest {
  /** Rolls of 8 and of 4: 8 to 4 is a comfortable step of 4; without the thinner one it is 8. */
  @ParameterizedTest(name = "roll of {0} cm beside one of 8 cm: taken at the base dose {1}")
  @CsvSource({"4, true", "3.9, false"})
  void theTowel(String roll, boolean taken) {
    Story story =
        Story.knee().knows("can-kneel", "no").owns("towel-roll", roll + " cm", "8 cm").begins();
    story.setByHand("bench-kneeling-sit-back", "towel-thickness", "8 cm");
    story.quietUntil(s -> s.dose("bench-kneeling-sit-back").equals("4 × 15 s held"));
    story.quiet(5);
    assertEquals(!taken, story.hasSaid(Reason.STEP_TOO_BIG) || tooBig(story));
  }

  @Test
  void doseIsBuiltToTheTopAndThenThePieceIsNamed() {
    Story story = Story.knee().knows("can-kneel", "no").owns("towel-roll", "8 cm").begins();
    story.quietUntil(s -> s.says(Reason.STEP_TOO_BIG));
    assertEquals("3 × 30 s held", story.dose("bench-kneeling-sit-back"));
    assertEquals("3 × 30 s held", story.dose("towel-flexion-stretch"));
    story.expectAsked("bench-kneeling-sit-back", "towel-thickness", "8 cm");
    assertEquals(
        Optional.of(new Change.Piece("towel-roll", Amount.of(4, Unit.CENTIMETRE))),
        story.decision().considered().get(0).missing());
  }

  @Test
  void thePieceOpensTheWay() {
    Story story = Story.knee().knows("can-kneel", "no").owns("towel-roll", "8 cm").begins();
    story.quietUntil(s -> s.says(Reason.STEP_TOO_BIG));
    story.owns("towel-roll", "8 cm", "4 cm").equipment();
    story.quietUntil("bench-kneeling-sit-back", "towel-thickness", "4 cm");
  }

  /** One stair of 17 cm is above the comfortable 12 cm: dose first, then with a hand more. */
  @Test
  void aStairIsBridgedByDoseAndThenByTheHands() {
    Story story = Story.bendingKnee().doesNotOwn("book").begins();
    story.quietUntil(s -> s.dose("split-squat-rock").equals("3 × 12"));
    story.expectAsked("split-squat-rock", "step-height", "34 cm");
    story.expectAsked("split-squat-rock", "hand-assist", "none");
    story.quietUntil("split-squat-rock", "step-height", "17 cm");
    story.expectAsked("split-squat-rock", "hand-assist", "fingertips");
    assertEquals("2 × 10", story.dose("split-squat-rock"));
    Change change =
        story.decisions.stream()
            .flatMap(d -> d.change().stream())
            .filter(c -> c.to().equals("17 cm"))
            .findFirst()
            .orElseThrow();
    assertEquals(List.of("hand-assist"), change.eased());
  }

  /** Stairs of 12 cm are comfortable, of 12.1 cm are not. */
  @ParameterizedTest(name = "riser of {0} cm: taken on its own {1}")
  @CsvSource({"12, true", "12.1, false"})
  void twelveCentimetresAreComfortable(String riser, boolean alone) {
    Story story =
        Story.bendingKnee().doesNotOwn("book").owns("stair-riser", riser + " cm").begins();
    String first = story.asked("split-squat-rock", "step-height");
    story.quiet(14);
    assertEquals(alone, !story.asked("split-squat-rock", "step-height").equals(first));
    assertEquals(!alone, tooBig(story));
  }

  private static boolean tooBig(Story story) {
    return story.decisions.stream()
        .flatMap(d -> d.considered().stream())
        .anyMatch(c -> c.why() == Reason.STEP_TOO_BIG);
  }

  /** The heel raise has no step that is too big: any owned dumbbell up to the goal is taken. */
  @ParameterizedTest(name = "heel, from 2 kg to {0} kg")
  @ValueSource(strings = {"3", "5", "10"})
  void theHeelRaiseTakesTheSmallestDumbbellThatIsOwned(String next) {
    Story story = Story.heel().owns("dumbbell-pair", "2 kg", next + " kg").begins();
    story.quietUntil("standing-heel-raise", "dumbbell-load", next + " kg");
    assertFalse(tooBig(story));
  }
}
