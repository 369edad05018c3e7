package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.demand.Demand;
import org.tidemark.demand.Ratio;
import org.tidemark.programme.Setting;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/**
 * A step that is larger than the comfortable one, or asks more than the cap, is first bridged by
 * dose, then by easing; with nothing to ease the plan stays and the missing piece is named. Common
 * practice.
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

  /**
   * One stair of 17 cm asks up to a fifth more, above the cap of a tenth: dose first, then with as
   * much of a hand as brings it under the cap. Fingertips would not.
   */
  @Test
  void aStairIsBridgedByDoseAndThenByTheHands() {
    Story story = Story.bendingKnee().doesNotOwn("book").begins();
    story.quietUntil(s -> s.dose("split-squat-rock").equals("3 × 12"));
    story.expectAsked("split-squat-rock", "step-height", "34 cm");
    story.expectAsked("split-squat-rock", "hand-assist", "none");
    story.quietUntil("split-squat-rock", "step-height", "17 cm");
    story.expectAsked("split-squat-rock", "hand-assist", "one-hand");
    assertEquals("2 × 10", story.dose("split-squat-rock"));
    Change change =
        story.decisions.stream()
            .flatMap(d -> d.change().stream())
            .filter(c -> c.to().equals("17 cm"))
            .findFirst()
            .orElseThrow();
    assertEquals(List.of("hand-assist"), change.eased());
  }

  /** Two kilograms less than the cap, three more: the upper ends are 1.09 and 1.14. */
  @ParameterizedTest(name = "first dumbbells of {0} kg: taken {1}")
  @CsvSource({"2, true", "3, false"})
  void theFirstDumbbells(String kilograms, boolean taken) {
    Story story = onTheFloor().owns("dumbbell-pair", kilograms + " kg").equipment().quiet(60);
    assertEquals(taken, !story.decision().proposal().isEmpty());
    assertEquals(!taken, story.says(Reason.STEP_TOO_BIG));
    Ratio demand =
        taken ? firstDemand(story) : story.decision().considered().get(0).demand().orElseThrow();
    assertEquals(taken, demand.high() <= 1.10, demand.toString());
  }

  private static Ratio firstDemand(Story story) {
    return story.decisions.stream()
        .filter(Decision::proposed)
        .flatMap(d -> d.figures().demand().stream())
        .findFirst()
        .orElseThrow();
  }

  @Test
  void theDumbbellThatWouldDoIsNamed() {
    Story story = onTheFloor().owns("dumbbell-pair", "5 kg").equipment().quiet(60);
    assertEquals(
        Optional.of(new Change.Piece("dumbbell-pair", Amount.of(1, Unit.KILOGRAM))),
        story.decision().considered().get(0).missing());
  }

  /** Loads grow by a tenth at the most (ACSM, Ratamess 2009, MSSE 41:687-708), of the whole. */
  @ParameterizedTest(name = "heel, 80 kg: from 2 to {0} kg in each hand is too big {1}")
  @CsvSource({"3, false", "6, false", "6.5, true", "10, true"})
  void theHeelRaiseIsCappedAtATenth(String next, boolean tooBig) {
    Story story = Story.heel().owns("dumbbell-pair", "2 kg", next + " kg").begins();
    story.quietUntil("standing-heel-raise", "dumbbell-load", "2 kg").quiet(60);
    story.expectAsked("standing-heel-raise", "dumbbell-load", tooBig ? "2 kg" : next + " kg");
    assertEquals(tooBig, tooBig(story));
  }

  /**
   * Every upward change of a whole course: its upper end is never above the cap that is its own.
   */
  @Test
  void noStepOfACourseIsAboveItsCap() {
    Story story = Story.bendingKnee().owns("dumbbell-pair", "1 kg", "2 kg", "4 kg").begins();
    story.quietUntil("split-squat-rock", "dumbbell-load", "4 kg");
    List<Decision> steps =
        story.decisions.stream().filter(d -> d.figures().demand().isPresent()).toList();
    assertEquals(10, steps.size(), "four depths, three grades of the hands, three loads");
    for (Decision step : steps) {
      boolean hands = step.change().orElseThrow().variable().equals("hand-assist");
      double high = step.figures().demand().orElseThrow().high();
      assertTrue(high <= (hands ? 1.5 : 1.10), step.change() + " " + high);
    }
  }

  private static Story onTheFloor() {
    return Story.bendingKnee()
        .doesNotOwn("dumbbell-pair")
        .begins()
        .quietUntil("split-squat-rock", "hand-assist", "none");
  }

  private static boolean tooBig(Story story) {
    return story.decisions.stream()
        .flatMap(d -> d.considered().stream())
        .anyMatch(c -> c.why() == Reason.STEP_TOO_BIG);
  }

  /**
   * From 34 cm the next step down without a book is a stair of 17. The book that is named is just
   * thick enough: with it the step down asks no more than the cap, with one a centimetre thinner it
   * asks more.
   */
  @Test
  void theBookThatWouldDoIsNamed() {
    Story story = Story.bendingKnee().doesNotOwn("book").begins();
    story.quietUntil(s -> tooBig(s));
    Change.Piece book = considered(story).get(0).missing().orElseThrow();
    assertEquals("book", book.item());
    assertEquals(Unit.CENTIMETRE, book.size().unit());
    int size = book.size().value().intValueExact();
    assertTrue(size > 1 && size < 17, book.toString());
    assertTrue(high(story, 17 + size) <= 1.10, "with the book it is within the cap");
    assertTrue(high(story, 17 + size - 1) > 1.10, "a thinner one would not do");
    story.owns("book", size + " cm").equipment();
    String reached = 17 + size + " cm";
    story.quietUntil("split-squat-rock", "step-height", reached);
    assertTrue(
        story.decisions.stream()
            .flatMap(d -> d.change().stream())
            .filter(change -> change.to().equals(reached))
            .allMatch(change -> change.eased().isEmpty()),
        "and nothing has to be eased for it");
  }

  private static List<Change.Considered> considered(Story story) {
    return story.decisions.stream()
        .map(Decision::considered)
        .filter(weighed -> !weighed.isEmpty())
        .findFirst()
        .orElseThrow();
  }

  /** What a step from 34 cm asks at the upper end of the band. */
  private static double high(Story story, int centimetres) {
    Setting from =
        story
            .prescription("split-squat-rock")
            .setting()
            .with("step-height", Amount.of(34, Unit.CENTIMETRE));
    return Demand.ratio(
            story.programme.variation("split-squat-rock").orElseThrow(),
            from,
            from.with("step-height", Amount.of(centimetres, Unit.CENTIMETRE)),
            story.state.person().items())
        .orElseThrow()
        .high();
  }
}
