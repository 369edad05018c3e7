package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.programme.Dose;

/**
 * At least 80 % of what was asked must have been done since the setting began, over two weeks at
 * the most. Common practice.
 */
class AdherenceLowRuleTest {
  private static final String SQUAT = "split-squat-rock";

  @ParameterizedTest(name = "5 sessions in {0} days: {1}")
  @CsvSource({"5, true", "6, true", "7, false"})
  void fiveSessions(int days, boolean enough) {
    Story story = Story.knee().begins().quiet(1).passes(days - 5).quiet(4);
    assertEquals(!enough, story.says(Reason.ADHERENCE_LOW));
    assertEquals(enough ? Verdict.PROGRESS : Verdict.MAINTAIN, story.verdict());
  }

  /** 7 of 9 days are 78 %, 8 of 10 are 80 %, which is enough. */
  @Test
  void eightyPercentIsEnough() {
    Story story = Story.knee().begins().quiet(1).passes(2).quiet(6);
    assertTrue(story.says(Reason.ADHERENCE_LOW));
    story.quiet(1);
    assertEquals(0.80, story.decision().figures().adherence(), 1e-9);
    story.expect(Verdict.PROGRESS, Reason.SETTLED);
  }

  /** The heel raise is asked for three times a week. */
  @ParameterizedTest(name = "heel, a session every {0} days: {1}")
  @CsvSource({"2, true", "3, true", "4, false"})
  void threeTimesAWeek(int every, boolean enough) {
    Story story = Story.heel().begins();
    for (int i = 0; i < 6; i++) {
      story.quiet(1).passes(every - 1);
    }
    story.quiet(1);
    assertEquals(!enough, story.says(Reason.ADHERENCE_LOW));
  }

  /** A session of half the sets is half of what was asked. */
  @Test
  void halfTheSetsIsHalfTheDose() {
    Story whole = Story.bendingKnee().begins().quiet(7);
    Story story = Story.bendingKnee().begins().quiet(7);
    assertEquals("2 × 10", story.dose(SQUAT));
    for (int i = 0; i < 7; i++) {
      story.sessionOf("1", "-", "-").passes(1).morning("0");
      whole.quiet(1);
    }
    assertEquals(Verdict.PROGRESS, whole.verdict());
    assertTrue(story.says(Reason.ADHERENCE_LOW));
    assertEquals(0.5, story.decision().figures().adherence(), 1e-9);
  }

  /** Sets and repetitions count together; more than was asked is no more than all of it. */
  @ParameterizedTest(name = "of 2 × 10: {0} sets of {1}: {2}")
  @CsvSource({
    "2, 10, 1",
    "1, 10, 0.5",
    "2, 5, 0.5",
    "-, 5, 0.5",
    "1, 5, 0.25",
    "4, 10, 1",
    "2, 20, 1",
    "1, 20, 0.5",
    "-, -, 1"
  })
  void setsAndRepetitions(String sets, String repetitions, double share) {
    Story story = Story.bendingKnee().begins().quiet(7);
    assertEquals("2 × 10", story.dose(SQUAT));
    assertEquals(share, oneSession(story, sets, repetitions, "-"), 1e-9);
  }

  /** A dose of 2 sets of 30 s each. A dose without a time or repetitions ignores what is told. */
  @ParameterizedTest(name = "of 2 × 30 s: {0} sets of {1} s: {2}")
  @CsvSource({"2, 30, 1", "2, 15, 0.5", "1, 15, 0.25", "2, 45, 1", "-, 10, 0.3333333333"})
  void timeOfASet(String sets, String seconds, double share) {
    Story story = Story.bendingKnee().begins().setByHand(SQUAT, new Dose(2, 0, 0, 30, 7));
    assertEquals(share, oneSession(story, sets, "5", seconds), 1e-9);
  }

  @Test
  void aTimeSaysNothingOfADoseOfRepetitions() {
    Story story = Story.bendingKnee().begins().quiet(7);
    assertEquals(1, oneSession(story, "-", "-", "5"), 1e-9);
  }

  /** What the amounts of a report without a prescription are of is known for the lead alone. */
  @Test
  void theAmountsAreThoseOfTheLead() {
    Story story = Story.knee().begins();
    oneSession(story, "1", "5", "-");
    Situation situation =
        new Situation(story.programme, story.state, story.facts.get(story.facts.size() - 1), 0);
    Line lead = story.state.standing().lines().get(0);
    Line companion = story.state.standing().lines().get(1);
    assertEquals("1 × 10", story.dose(lead.prescription().variation()));
    assertEquals(0.5, situation.adherence(lead), 1e-9);
    assertEquals(1, situation.adherence(companion), 1e-9);
  }

  /** The share of one day's dose that one session is, asked for on each day of the week. */
  private static double oneSession(Story story, String sets, String repetitions, String seconds) {
    story.sessionOf(sets, repetitions, seconds).passes(1).morning("0");
    return story.decision().figures().adherence();
  }
}
