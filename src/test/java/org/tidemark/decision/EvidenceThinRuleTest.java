package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.util.List;
import org.apache.commons.math3.distribution.BetaDistribution;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/**
 * Progress needs a chance of at least 0.80, by a Beta posterior, that the share of unsettled
 * sessions is below the limit of the stage: 5, 7 and 9 settled sessions in a row without load, with
 * body weight and with dumbbells.
 */
class EvidenceThinRuleTest {
  @Test
  void withoutLoadFive() {
    Story story = Story.knee().begins().quiet(4);
    story.expect(Verdict.MAINTAIN, Reason.EVIDENCE_THIN);
    story.quiet(1).expect(Verdict.PROGRESS, Reason.SETTLED);
  }

  @Test
  void withBodyWeightSeven() {
    Story story = Story.bendingKnee().begins().quiet(6);
    story.expect(Verdict.MAINTAIN, Reason.EVIDENCE_THIN);
    story.quiet(1).expect(Verdict.PROGRESS, Reason.SETTLED);
  }

  @Test
  void withDumbbellsNine() {
    Story story =
        Story.bendingKnee().begins().quietUntil("split-squat-rock", "dumbbell-load", "1 kg");
    story.quiet(8).expect(Verdict.MAINTAIN, Reason.EVIDENCE_THIN);
    story.quiet(1).expect(Verdict.PROGRESS, Reason.SETTLED);
  }

  @ParameterizedTest(name = "heel, {0} settled: {1}")
  @CsvSource({"6, MAINTAIN", "7, PROGRESS"})
  void theHeelRaiseCarriesBodyWeight(int settled, Verdict verdict) {
    Story story = Story.heel().begins().quietEveryOtherDay(settled - 1).quiet(1);
    assertEquals(verdict, story.verdict());
  }

  /** With one stirred, 13 answered sessions: the second library's number for body weight. */
  @ParameterizedTest(name = "{0} answered: {1}")
  @CsvSource({"12, MAINTAIN", "13, PROGRESS"})
  void oneStirredAsksForMore(int answered, Verdict verdict) {
    Story story = Story.bendingKnee().begins().day("1 0 0").quiet(answered - 1);
    assertEquals(verdict, story.verdict());
  }

  /** A session at something easier than asked is no evidence; one at something harder is. */
  @ParameterizedTest(name = "done at {0}: counts {1}")
  @CsvSource({"51 cm, false", "34 cm, true", "26 cm, true"})
  void whatWasDoneMustBeWhatWasAskedOrMore(String step, boolean counts) {
    Story story = Story.bendingKnee().begins();
    for (int i = 0; i < 7; i++) {
      story.sessionAt("split-squat-rock", "step-height", step).passes(1).morning("0");
    }
    assertEquals(counts ? Verdict.PROGRESS : Verdict.MAINTAIN, story.verdict());
  }

  /** A session that names nothing counts for every exercise in force. */
  @Test
  void aSessionThatNamesNothingCountsForAll() {
    Story story = Story.knee().begins().quiet(4);
    story.state.standing().lines().forEach(line -> assertEquals(4, line.answered()));
  }

  @Test
  void aSessionThatNamesOneExerciseCountsForThatOne() {
    Story story = Story.knee().begins();
    story.sessionAt("towel-flexion-stretch", "towel-thickness", "8 cm").passes(1).morning("0");
    assertEquals(
        List.of(0, 1), story.state.standing().lines().stream().map(Line::answered).toList());
  }

  @Test
  void whatIsDoneWhileExerciseIsWithheldIsNoEvidence() {
    Story story = Story.bendingKnee().begins().quiet(3).held(true).quiet(5).held(false);
    assertEquals(3, story.state.standing().lines().get(0).answered());
  }

  /** The figures say what the chance was and what was needed. */
  @Test
  void theFiguresAreThoseOfASecondLibrary() {
    Story story = Story.bendingKnee().begins().day("1 0 0").quiet(4);
    assertEquals(5, story.decision().figures().answered());
    assertEquals(1, story.decision().figures().unsettled());
    assertEquals(0.80, story.decision().figures().needed());
    assertEquals(
        new BetaDistribution(2, 5).cumulativeProbability(0.20),
        story.decision().figures().chance(),
        1e-9);
  }
}
