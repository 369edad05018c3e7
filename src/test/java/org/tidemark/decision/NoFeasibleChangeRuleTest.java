package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/**
 * Where no next value can be made, the plan stays, and the piece that would open the way is named.
 * Common practice.
 */
class NoFeasibleChangeRuleTest {
  @Test
  void theHeelRaiseNamesABookForTheEdge() {
    Story story =
        Story.heel().doesNotOwn("book").begins().quietUntil(s -> s.says(Reason.NO_FEASIBLE_CHANGE));
    story.expect(Verdict.MAINTAIN, Reason.NO_FEASIBLE_CHANGE);
    story.expectAsked("standing-heel-raise", "hand-assist", "none");
    assertEquals(
        Optional.of(new Change.Piece("book", Amount.of(10, Unit.CENTIMETRE))),
        story.decision().considered().get(0).missing());
  }

  @Test
  void withTheBookItGoesOn() {
    Story story =
        Story.heel().doesNotOwn("book").begins().quietUntil(s -> s.says(Reason.NO_FEASIBLE_CHANGE));
    story.owns("book", "10 cm").equipment();
    story.expectAsked("standing-heel-raise", "drop-height", "10 cm");
  }

  /** The next stage begins on a step; without any, it does not begin. */
  @Test
  void withoutAnyStepTheSplitSquatWaits() {
    Story story =
        Story.knee()
            .doesNotOwn("book")
            .doesNotOwn("stair-riser")
            .begins()
            .quietUntil(s -> s.says(Reason.NO_FEASIBLE_CHANGE));
    story.expect(Verdict.MAINTAIN, Reason.NO_FEASIBLE_CHANGE);
    assertEquals(Change.Kind.STAGE, story.decision().considered().get(0).change().kind());
  }

  /** An edge above the goal of 10 cm is no step toward it. */
  @ParameterizedTest(name = "heel, book of {0} cm: taken {1}")
  @CsvSource({"10, true", "10.1, false"})
  void notBeyondTheGoal(String book, boolean taken) {
    Story story = Story.heel().owns("book", book + " cm").begins();
    story.quietUntil(
        s ->
            s.says(Reason.NO_FEASIBLE_CHANGE)
                || !s.asked("standing-heel-raise", "drop-height").equals("0 cm"));
    assertEquals(!taken, story.says(Reason.NO_FEASIBLE_CHANGE));
  }

  /** From 2 kg a tenth more is 2.2, to the next half kilogram 2.5. */
  @Test
  void theKneeNamesADumbbell() {
    Story story = Story.bendingKnee().knows("wall-lunge-distance", "5 cm").begins();
    story.quietUntil("split-squat-rock", "dumbbell-load", "2 kg");
    story.quietUntil(s -> s.says(Reason.NO_FEASIBLE_CHANGE));
    assertEquals(
        Optional.of(new Change.Piece("dumbbell-pair", Amount.of("2.5", Unit.KILOGRAM))),
        story.decision().considered().get(0).missing());
  }
}
