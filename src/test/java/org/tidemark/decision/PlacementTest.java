package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;

/** Where a person with a stiff knee starts, from simple to hard. */
class PlacementTest {

  @Test
  void p01AnOpenWarningStartsNothing() {
    Story story = Story.knee().warning(Warning.HOT_SWOLLEN_JOINT).begins();
    story.expect(Verdict.WITHHOLD, Reason.WARNING_OPEN);
  }

  @Test
  void p02APrecautionOnEverySettingStartsNothingAndIsNamed() {
    Story story = Story.knee().limited(Precaution.Scope.ALL, "knee-flexion", "", "60 deg").begins();
    story.expect(Verdict.WITHHOLD, Reason.PRECAUTION_FORBIDS_ALL);
    assertEquals(List.of("limit on knee-flexion"), story.decision().precautions());
  }

  @Test
  void p03WhatIsMissingIsListedAndNothingIsGuessed() {
    Story story = Story.of(org.tidemark.programme.TestProgrammes.KNEE).begins();
    story.expect(Verdict.INCOMPLETE, Reason.BASELINE_INCOMPLETE);
    assertEquals(
        List.of("comfortable-flexion", "gap|contact", "pain-at-rest", "can-kneel"),
        story.decision().missing());
  }

  @ParameterizedTest(name = "bend {0}°, cycle {1}: {2}")
  @CsvSource({"89, yes, preparatory", "89, no, none", "90, yes, unloaded", "90, no, unloaded"})
  void p04AKneeThatHardlyBendsCyclesFirst(String bend, String cycle, String stage) {
    Story story =
        Story.knee()
            .knows("comfortable-flexion", bend + " deg")
            .owns("stationary-cycle", cycle)
            .begins();
    assertEquals(stage, stage(story));
  }

  @ParameterizedTest(name = "gap {0} cm with rolls of 8 cm together: {1}")
  @CsvSource({"8, unloaded", "8.1, preparatory", "20, preparatory"})
  void p05AGapBeyondTheRollsCyclesFirst(String gap, String stage) {
    Story story = Story.knee().knows("gap", gap + " cm").owns("stationary-cycle", "yes").begins();
    assertEquals(stage, stage(story));
  }

  /** Rolls of 3, 4 and 6 cm make 3, 4, 6, 7, 9, 10 and 13. */
  @ParameterizedTest(name = "gap {0} cm: towel of {1}")
  @CsvSource({
    "0, 0 cm",
    "0.1, 3 cm",
    "3, 3 cm",
    "3.1, 4 cm",
    "6, 6 cm",
    "6.5, 7 cm",
    "8, 9 cm",
    "9.1, 10 cm",
    "10.1, 13 cm",
    "13, 13 cm"
  })
  void p06TheThinnestRollOrStackThatIsThickEnough(String gap, String towel) {
    Story story =
        Story.knee()
            .owns("towel-roll", "3 cm", "4 cm", "6 cm")
            .knows("gap", gap + " cm")
            .knows("can-stand-on-one-leg", "no")
            .begins();
    story.expectAsked("quadruped-rock-back", "towel-thickness", towel);
    story.expectAsked("towel-flexion-stretch", "towel-thickness", towel);
  }

  @ParameterizedTest(name = "can kneel {0}: {1}")
  @CsvSource({"yes, quadruped-rock-back", "no, bench-kneeling-sit-back"})
  void p07WhoeverCannotKneelSitsBackOnABench(String kneels, String lead) {
    Story story = Story.knee().knows("can-kneel", kneels).begins();
    assertEquals(
        List.of(lead, "towel-flexion-stretch"),
        story.state.inForce().stream().map(Prescription::variation).toList());
  }

  @Test
  void p08ToesTuckedAndTwoHands() {
    Story story = Story.knee().begins();
    story.expectAsked("quadruped-rock-back", "toe-position", "tucked");
    story.expectAsked("quadruped-rock-back", "hand-assist", "two-hands");
    assertEquals("1 × 10", story.dose("quadruped-rock-back"));
    assertEquals("4 × 15 s held", story.dose("towel-flexion-stretch"));
  }

  @ParameterizedTest(name = "contact {0}, rest {1}, one leg {2}, support {3}: {4}")
  @CsvSource({
    "yes, 0, yes, yes, body-weight",
    "yes, 0.5, yes, yes, unloaded",
    "yes, 0, no, yes, unloaded",
    "yes, 0, yes, no, unloaded"
  })
  void p09BodyWeightOnlyWithContactFreeOfSymptomsOnOneLegWithSupport(
      String contact, String rest, String leg, String support, String stage) {
    Story story =
        Story.bendingKnee()
            .knows("contact", contact)
            .knows("pain-at-rest", rest + " {score}")
            .knows("can-stand-on-one-leg", leg)
            .owns("hand-support", support)
            .begins();
    assertEquals(stage, stage(story));
  }

  /** The highest step not above 36 cm. */
  @ParameterizedTest(name = "risers of {0} cm: step of {1}")
  @CsvSource({"17, 34 cm", "18, 36 cm", "18.1, 18.1 cm", "12, 36 cm", "19.685, 19.685 cm"})
  void p10TheHighestStepNotAboveThirtySix(String riser, String step) {
    Story story =
        Story.bendingKnee().doesNotOwn("book").owns("stair-riser", riser + " cm").begins();
    story.expectAsked("split-squat-rock", "step-height", step);
    story.expectAsked("split-squat-rock", "hand-assist", "two-hands");
    story.expectAsked("split-squat-rock", "dumbbell-load", "0 kg");
    assertEquals("1 × 10", story.dose("split-squat-rock"));
  }

  /** The floor is the hardest setting: whoever has no step to begin on does not begin there. */
  @Test
  void p10bWithoutAnyStepNobodyBeginsOnTheFloor() {
    Story story = Story.bendingKnee().doesNotOwn("book").doesNotOwn("stair-riser").begins();
    assertEquals("unloaded", stage(story));
  }

  /** Contact, no pain, one leg, dumbbells at home: still without load. */
  @Test
  void p11NobodyIsPlacedWithDumbbells() {
    assertEquals("body-weight", stage(Story.bendingKnee().begins()));
  }

  @Test
  void p12AClosedStageLeavesTheNextWayIn() {
    Story story =
        Story.bendingKnee().limited(Precaution.Scope.LOADED, "knee-flexion", "", "90 deg").begins();
    assertEquals("unloaded", stage(story));
    assertEquals(List.of("limit on knee-flexion"), story.decision().precautions());
  }

  /** A newer gap ends what was known of contact. */
  @Test
  void p13ANewBaselineIsNotMixedWithTheOldOne() {
    Story story = Story.bendingKnee().baseline();
    story.items.clear();
    story
        .knows("comfortable-flexion", "110 deg")
        .knows("gap", "5 cm")
        .knows("pain-at-rest", "0 {score}")
        .knows("can-kneel", "yes")
        .passes(1)
        .begins();
    assertEquals("unloaded", stage(story));
  }

  @Test
  void p14TheOrderOfWhatIsKnownDoesNotMatter() {
    Story story = Story.knee().begins();
    List<Fact> reversed = new java.util.ArrayList<>(story.facts);
    java.util.Collections.reverse(reversed);
    assertEquals(story.state, Review.replay(story.programme, reversed));
    assertTrue(story.says(Reason.PLACED));
  }

  private static String stage(Story story) {
    return story.state.inForce().stream().map(Prescription::stage).findFirst().orElse("none");
  }
}
