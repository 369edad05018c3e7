package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/**
 * A flare undoes the last upward change, whichever it was, at once: next morning 2 points above
 * rest (Farrar 2001, Pain 94:149-58), above 5 during or after (Thomeé 1997, Phys Ther 77:1690-703),
 * more swollen, or still worse on the second morning.
 */
class FlareRuleTest {
  @ParameterizedTest(name = "during, after, morning {0}: {1}")
  @CsvSource({
    "0 0 1, MAINTAIN",
    "0 0 1.9, MAINTAIN",
    "0 0 2, REGRESS",
    "5 0 0, MAINTAIN",
    "5.1 0 0, REGRESS",
    "0 5 0, MAINTAIN",
    "0 5.1 0, REGRESS",
    "0 0 0 swollen, REGRESS",
    "0 0 0 unwilling, MAINTAIN"
  })
  void bothSidesOfEveryLimit(String day, Verdict verdict) {
    Story story = Story.bendingKnee().begins().quiet(8);
    assertEquals("2 × 10", story.dose("split-squat-rock"));
    story.session(day);
    story = Story.bendingKnee().begins().quiet(8).day(day);
    boolean flared = story.decisions.stream().anyMatch(d -> d.reasons().contains(Reason.FLARE));
    assertEquals(verdict == Verdict.REGRESS, flared);
    assertEquals(flared ? "1 × 10" : "2 × 10", story.dose("split-squat-rock"));
  }

  @ParameterizedTest(name = "heel, during, after, morning {0}: {1}")
  @CsvSource({"0 0 1, 2 × 10", "0 0 2, 2 × 8", "5 5 0, 2 × 10", "6 0 0, 2 × 8"})
  void theHeelRaiseIsEasedByTheSameSigns(String day, String dose) {
    Story story =
        Story.heel().begins().quietUntil(s -> s.dose("standing-heel-raise").equals("2 × 10"));
    story.day("0 0 0").day(day);
    assertEquals(dose, story.dose("standing-heel-raise"));
  }

  @Test
  void theLastChangeIsUndoneWhicheverItWas() {
    Story story =
        Story.bendingKnee().begins().quietUntil("split-squat-rock", "step-height", "26 cm");
    story.day("0 0 2");
    story.expect(Verdict.REGRESS, Reason.FLARE, Reason.UNQUIET_MORNING);
    story.expectAsked("split-squat-rock", "step-height", "34 cm");
    assertEquals("2 × 10", story.dose("split-squat-rock"));
    assertEquals(Change.Kind.UNDONE, story.decision().change().orElseThrow().kind());
  }

  /** With nothing to undo, one thing is eased. */
  @Test
  void fromAFreshStartOneThingIsEased() {
    Story story = Story.bendingKnee().begins().day("0 0 2");
    story.expect(Verdict.REGRESS, Reason.FLARE, Reason.UNQUIET_MORNING);
    story.expectAsked("split-squat-rock", "step-height", "43 cm");
  }

  /** No session on the day between, and pain still above rest two mornings later. */
  @ParameterizedTest(name = "mornings 1 then {0}: flare {1}")
  @CsvSource({"1, true", "0, false"})
  void stillWorseOnTheSecondMorning(String second, boolean flare) {
    Story story = Story.bendingKnee().begins().quiet(1).day("0 0 1").passes(1).morning(second);
    assertEquals(flare, story.says(Reason.FLARE));
  }

  @Test
  void withASessionInBetweenTheSecondMorningIsThatSessions() {
    Story story = Story.bendingKnee().begins().quiet(1).day("0 0 1").day("0 0 1");
    assertFalse(story.says(Reason.FLARE));
  }

  /** A sign that is bad enough is not waited out. */
  @Test
  void painDuringDoesNotWaitForTheMorning() {
    Story story = Story.bendingKnee().begins().session("6 -");
    assertTrue(story.says(Reason.FLARE));
  }

  @Test
  void oneBadDayIsOneFlare() {
    Story story = Story.bendingKnee().begins().quiet(8).day("6 6 4 swollen");
    assertEquals(1, story.decision().figures().flaresIn14Days());
    assertEquals("1 × 10", story.dose("split-squat-rock"));
  }

  /** A bridged step gave hand help in exchange; undoing the step does not take that help away. */
  @Test
  void undoingABridgedStepKeepsTheHelpThatCameWithIt() {
    Story story =
        Story.bendingKnee()
            .doesNotOwn("book")
            .begins()
            .quietUntil("split-squat-rock", "step-height", "17 cm");
    story.expectAsked("split-squat-rock", "hand-assist", "one-hand");
    story.day("0 0 2");
    story.expectAsked("split-squat-rock", "step-height", "34 cm");
    story.expectAsked("split-squat-rock", "hand-assist", "one-hand");
    assertEquals("2 × 10", story.dose("split-squat-rock"));
  }
}
