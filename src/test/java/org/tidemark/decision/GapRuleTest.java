package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/** More than 14 days without a session restart one change back; 14 days do not. Common practice. */
class GapRuleTest {
  @ParameterizedTest(name = "{0} days: {1}")
  @CsvSource({"14, 2 × 10", "15, 1 × 10", "42, 1 × 10"})
  void aSessionAfterTheGap(int days, String dose) {
    Story story = Story.bendingKnee().begins().quiet(8).passes(days - 1).session("0 0");
    assertEquals(days > 14, story.says(Reason.GAP));
    assertEquals(dose, story.dose("split-squat-rock"));
  }

  @ParameterizedTest(name = "heel, {0} days: {1}")
  @CsvSource({"14, 2 × 10", "15, 2 × 8"})
  void theHeelRaise(int days, String dose) {
    Story story =
        Story.heel().begins().quietUntil(s -> s.dose("standing-heel-raise").equals("2 × 10"));
    story.passes(days - 1).session("0 0");
    assertEquals(dose, story.dose("standing-heel-raise"));
  }

  @Test
  void itIsEasedForOnceOnly() {
    Story story =
        Story.bendingKnee().begins().quietUntil("split-squat-rock", "step-height", "26 cm");
    story.passes(20).session("0 0").passes(1).morning("0");
    story.expectAsked("split-squat-rock", "step-height", "34 cm");
    assertEquals("2 × 10", story.dose("split-squat-rock"));
  }

  @Test
  void morningsAloneAreNoSessions() {
    Story story = Story.bendingKnee().begins().quiet(8).passes(14).morning("0");
    assertTrue(story.says(Reason.GAP));
    story.session("0 0");
    assertFalse(story.says(Reason.GAP), "the same gap is not answered twice");
    assertEquals("1 × 10", story.dose("split-squat-rock"));
  }

  /** What was eased for a gap has not failed: it needs no more evidence than usual. */
  @Test
  void itIsNotAFailure() {
    Story story = Story.bendingKnee().begins().quiet(7).passes(20).session("0 0").passes(1);
    story.morning("0").quiet(7);
    assertEquals("2 × 10", story.dose("split-squat-rock"));
  }

  @Test
  void withNothingEasierThePlanStays() {
    Story story = Story.heel().begins().quiet(1).passes(20).session("0 0");
    assertEquals(Verdict.MAINTAIN, story.verdict());
    assertTrue(story.says(Reason.GAP));
  }

  /** A clinician's setting is a new beginning. */
  @Test
  void itIsCountedFromAClinicianSetting() {
    Story story = Story.bendingKnee().begins().quiet(8).passes(12);
    story.setByHand("split-squat-rock", "step-height", "39 cm").passes(5).session("0 0");
    assertFalse(story.says(Reason.GAP));
  }

  /** Who has been kept from exercise restarts one change back, not after one session too hard. */
  @ParameterizedTest(name = "let go on after {0} days: {1}")
  @CsvSource({"14, 2 × 10", "15, 1 × 10"})
  void aClinicianLetsItGoOn(int days, String dose) {
    Story story = Story.bendingKnee().begins().quiet(8).warning(Warning.LOCKING);
    story.passes(days - 1).resumed();
    assertEquals(days > 14, story.says(Reason.GAP));
    assertEquals(dose, story.dose("split-squat-rock"));
    story.session("0 0");
    assertEquals(dose, story.dose("split-squat-rock"), "the same gap is not answered twice");
  }

  /** A report shows that exercise goes on, whichever report it is. */
  @Test
  void aPainScoreIsAReport() {
    Story story = Story.bendingKnee().begins().quiet(8).passes(20).painAt("19:00", 0);
    assertTrue(story.says(Reason.GAP));
  }

  @Test
  void aHoldThatEndsLetsItGoOn() {
    Story story = Story.bendingKnee().begins().quiet(8).held(true).passes(20).held(false);
    assertTrue(story.says(Reason.GAP));
    assertEquals("1 × 10", story.dose("split-squat-rock"));
  }

  /** What is measured or listed says nothing of exercise, and a hold that begins ends it. */
  @Test
  void whatIsNoReportFindsNoGap() {
    Story story = Story.bendingKnee().begins().quiet(8).passes(20);
    story.measured("comfortable-flexion", "121 deg");
    assertFalse(story.says(Reason.GAP));
    story.equipment();
    assertFalse(story.says(Reason.GAP));
    story.held(true);
    story.expect(Verdict.WITHHOLD, Reason.PLAN_ON_HOLD);
  }

  /** Without a session since the start, it is counted from the start. */
  @ParameterizedTest(name = "{0} days after the start: {1}")
  @CsvSource({"14, false", "15, true"})
  void itIsCountedFromTheStart(int days, boolean gap) {
    Story story = Story.bendingKnee().begins().passes(days).morning("0");
    assertEquals(gap, story.says(Reason.GAP));
  }
}
