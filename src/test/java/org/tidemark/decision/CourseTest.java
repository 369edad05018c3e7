package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.time.LocalTime;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;
import org.tidemark.quantity.PainScore;
import org.tidemark.response.Morning;
import org.tidemark.response.Response;
import org.tidemark.response.ResponsePolicy;

/** Whole courses of a plan, from simple to hard. */
class CourseTest {

  /** From the towel to the step, to the floor, to dumbbells; a clinician signs off each stage. */
  @Test
  void c01FromTheTowelToDumbbells() {
    Story story = Story.knee().begins();
    List<String> steps = new ArrayList<>();
    for (int day = 0; day < 260; day++) {
      story.accepting().quiet(1);
      if (story.verdict() == Verdict.PROGRESS && !story.decision().proposed()) {
        Change change = story.decision().change().orElseThrow();
        steps.add(change.variable() + " " + change.to());
      }
    }
    assertEquals(
        List.of(
            " 2 × 10",
            "towel-thickness 4 cm",
            "towel-thickness 4 cm",
            "towel-thickness 0 cm",
            "towel-thickness 0 cm",
            "toe-position relaxed",
            "hand-assist one-hand",
            "hand-assist fingertips",
            "hand-assist none",
            " 2 × 10",
            "step-height 26 cm",
            "step-height 17 cm",
            "step-height 9 cm",
            "step-height 0 cm",
            "hand-assist one-hand",
            "hand-assist fingertips",
            "hand-assist none",
            "dumbbell-load 2 kg"),
        steps);
    assertEquals(
        2, story.decisions.stream().filter(d -> d.reasons().contains(Reason.SIGNED_OFF)).count());
    story.expectAsked("split-squat-rock", "step-height", "0 cm");
    story.expectAsked("split-squat-rock", "dumbbell-load", "2 kg");
  }

  @Test
  void c02AFlareIsEasedAndTheSameStepIsTakenAgainLater() {
    Story story =
        Story.bendingKnee().begins().quietUntil("split-squat-rock", "step-height", "26 cm");
    story.days(
        """
        0 0 0
        1 0 1
        0 0 3
        """);
    story.expectAsked("split-squat-rock", "step-height", "34 cm");
    story.quiet(12);
    assertTrue(story.says(Reason.BACK_OFF));
    story.quiet(1);
    story.expectAsked("split-squat-rock", "step-height", "26 cm");
  }

  /** A surgeon's limit: no loaded bend beyond 90° for four weeks. */
  @ParameterizedTest(name = "clearance asked {0}, given {1}: proposed after its end {2}")
  @CsvSource({"false, false, true", "true, false, false", "true, true, true"})
  void c03ASurgeonsLimitEnds(boolean asked, boolean given, boolean proposed) {
    Story story = Story.knee().owns("towel-roll", "4 cm").knows("gap", "4 cm");
    Precaution open = story.limit(Precaution.Scope.LOADED, "knee-flexion", "", "90 deg");
    story.limited(
        new Precaution(
            open.text(),
            open.scope(),
            open.measure(),
            open.least(),
            open.most(),
            open.from(),
            Optional.of(open.from().plusDays(60)),
            asked,
            given));
    story.begins();
    while (story.today.isBefore(open.from().plusDays(60))) {
      story.quiet(1);
      assertFalse(story.decision().proposed(), story.today.toString());
    }
    assertTrue(story.says(Reason.PRECAUTION_LIMITS), "still in force on its last day");
    story.quiet(1);
    assertEquals(proposed, story.decision().proposed());
  }

  @Test
  void c04AWarningStopsThePlanUntilAClinicianHasLooked() {
    Story story = Story.bendingKnee().begins().quiet(10);
    List<Prescription> before = story.state.inForce();
    story.warning(Warning.LOCKING).passes(6);
    assertEquals(List.of(), story.state.inForce());
    story.resumed().quiet(1);
    assertEquals(before, story.state.inForce());
  }

  /** Every third day unwilling: two in four never come together, and it never settles either. */
  @Test
  void c05AKneeThatStaysStirredStaysWhereItIs() {
    Story story = Story.bendingKnee().begins();
    for (int week = 0; week < 10; week++) {
      story.quiet(3).day("0 0 0 unwilling");
    }
    assertEquals("1 × 10", story.dose("split-squat-rock"));
    assertFalse(story.hasSaid(Reason.SETTLED));
    assertFalse(story.hasSaid(Reason.TWO_STIRRED));
  }

  @Test
  void c06AClinicianGoesAheadTheKneeFlaresAndComesBack() {
    Story story = Story.bendingKnee().begins().quiet(7);
    story.setByHand("split-squat-rock", "step-height", "5 cm").day("0 0 3");
    story.expectAsked("split-squat-rock", "step-height", "34 cm");
    assertEquals("2 × 10", story.dose("split-squat-rock"));
    story.quiet(7);
    story.expectAsked("split-squat-rock", "step-height", "26 cm");
  }

  @Test
  void c07AHolidayOfThreeWeeks() {
    Story story =
        Story.bendingKnee().begins().quietUntil("split-squat-rock", "step-height", "26 cm");
    story.quiet(3).passes(21).quiet(1);
    story.expectAsked("split-squat-rock", "step-height", "34 cm");
    story.quiet(7);
    story.expectAsked("split-squat-rock", "step-height", "26 cm");
  }

  /** A morning that arrives late changes what it would have changed in time. */
  @Test
  void c08ALateMorningIsAsGoodAsOneInTime() {
    Story told = Story.bendingKnee().begins().quiet(7).day("0 0 3").quiet(5);
    List<Fact> late = new ArrayList<>(told.facts);
    late.removeIf(
        fact ->
            fact instanceof Fact.MorningAfter morning
                && morning.morning().pain().equals(Optional.of(PainScore.of(3))));
    PlanState without = Review.replay(told.programme, late);
    assertNotEquals(without.inForce(), told.state.inForce());
    assertEquals(told.state, Review.replay(told.programme, told.facts));
    assertEquals("1 × 10", told.dose("split-squat-rock"));
  }

  /** A corrected morning is another version of the same record. */
  @Test
  void c09ACorrectedMorningTakesTheFlareBack() {
    Story story = Story.bendingKnee().begins().quiet(7).day("0 0 3").quiet(5);
    List<Fact> corrected = new ArrayList<>();
    for (Fact fact : story.facts) {
      boolean wrong =
          fact instanceof Fact.MorningAfter morning
              && morning.morning().pain().equals(Optional.of(PainScore.of(3)));
      corrected.add(
          wrong
              ? new Fact.MorningAfter(
                  fact.at(),
                  new FactSource(fact.source().type(), fact.source().id(), 2),
                  new Morning(
                      fact.at(),
                      Optional.of(PainScore.NONE),
                      Optional.empty(),
                      Optional.empty(),
                      Optional.empty(),
                      Optional.empty()))
              : fact);
    }
    assertEquals(1, story.state.inForce().get(0).dose().sets());
    assertEquals(2, Review.replay(story.programme, corrected).inForce().get(0).dose().sets());
  }

  /** A step is withdrawn when the sessions it rested on are. */
  @Test
  void c10AWithdrawnSessionTakesTheStepBack() {
    Story story = Story.bendingKnee().begins().quiet(7);
    assertEquals("2 × 10", story.dose("split-squat-rock"));
    List<Fact> left = new ArrayList<>(story.facts);
    left.remove(3);
    PlanState state = Review.replay(story.programme, left);
    assertEquals(1, state.inForce().get(0).dose().sets());
  }

  @Test
  void c11AFactBeforeTheHorizonNeedsAReplay() {
    Story story = Story.bendingKnee().begins().quiet(3);
    Fact early = story.facts.get(3);
    assertThrows(
        IllegalArgumentException.class, () -> Review.advance(story.programme, story.state, early));
    assertFalse(story.state.isFollowedBy(early));
  }

  /** Seven quiet mornings at 1 replace a baseline of 2: from then on 2 is above rest. */
  @ParameterizedTest(name = "after {0} mornings of 1, pain of 2 during: {1}")
  @CsvSource({"6, SETTLED", "7, STIRRED"})
  void c12RestIsTheMedianOfSevenQuietMornings(int mornings, Response response) {
    Story story = Story.knee().knows("pain-at-rest", "2 {score}").begins();
    for (int i = 0; i < mornings; i++) {
      story.day("1 1 1");
    }
    story.day("2 1 1");
    assertEquals(response, story.state.diary().newest().orElseThrow().response());
  }

  /** Two reports of one morning are one of the seven. */
  @Test
  void c13AMorningToldTwiceIsOneQuietMorning() {
    Story story = Story.knee().knows("pain-at-rest", "2 {score}").begins();
    for (int i = 0; i < 6; i++) {
      story.passes(1).painAt("06:00", 1).morning("1");
    }
    assertEquals(6, story.state.diary().quiet().size());
  }

  /** Morning pain of 1 in the second week against 0 in the first (Silbernagel 2007). */
  @ParameterizedTest(name = "{0}: {1}")
  @CsvSource({"PAIN_MONITORED, STIRRED", "SYMPTOM_FREE, SETTLED"})
  void c14ARiseFromWeekToWeek(ResponsePolicy policy, Response response) {
    Story story = Story.knee().knows("pain-at-rest", "3 {score}").under(policy).begins();
    story.quiet(3).passes(4).day("0 0 1").day("0 0 1");
    assertEquals(response, story.state.diary().newest().orElseThrow().response());
  }

  /** The towel comes off one side of the plan after the other, never two at once. */
  @Test
  void c15OneChangeInTheWholePlanAtATime() {
    Story story = Story.knee().begins();
    List<Prescription> before = story.state.inForce();
    for (int day = 0; day < 40; day++) {
      story.quiet(1);
      List<Prescription> now = story.state.inForce();
      int changed = 0;
      for (int i = 0; i < now.size(); i++) {
        changed += now.get(i).equals(before.get(i)) ? 0 : 1;
      }
      assertTrue(changed <= 1, now.toString());
      before = now;
    }
  }

  /** Two facts of one record and one moment have one order, whichever is read first. */
  @Test
  void c16TwoLimitsOfOneRecordHaveOneOrder() {
    Story story = Story.bendingKnee().begins();
    FactSource source = story.source();
    Fact one =
        new Fact.PrecautionSet(
            story.at(LocalTime.of(13, 0)),
            source,
            story.limit(Precaution.Scope.ALL, "step-height", "36 cm", ""));
    Fact other =
        new Fact.PrecautionSet(
            one.at(), source, story.limit(Precaution.Scope.ALL, "dumbbell-load", "", "1 kg"));
    List<Fact> forward = new ArrayList<>(story.facts);
    forward.addAll(List.of(one, other));
    List<Fact> backward = new ArrayList<>(story.facts);
    backward.addAll(List.of(other, one));
    assertEquals(Review.replay(story.programme, forward), Review.replay(story.programme, backward));
  }

  /** A plan that was complete and is placed anew goes on like any other. */
  @Test
  void c17AfterALongGapACompletePlanBeginsAnew() {
    Story story = Story.complete().passes(60).session("0 0").passes(1).baseline();
    story.expect(Verdict.PLACE, Reason.PLACED);
    story.quiet(7);
    story.expect(Verdict.PROGRESS, Reason.SETTLED);
  }

  /** Equipment that went while the plan was on hold is missed when the hold ends. */
  @Test
  void c18EquipmentThatWentOnHoldIsMissedAfterIt() {
    Story story = Story.heel().begins().quietUntil("standing-heel-raise", "drop-height", "5 cm");
    story.held(true).passes(1).doesNotOwn("book").equipment().passes(1).held(false);
    assertEquals(Verdict.REGRESS, story.verdict());
    story.expectAsked("standing-heel-raise", "drop-height", "0 cm");
  }
}
