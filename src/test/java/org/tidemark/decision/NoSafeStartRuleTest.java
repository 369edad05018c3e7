package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/**
 * Where no way into the programme fits, nobody is placed and the clinician is asked. Bend below 90°
 * or a gap beyond the rolls at hand without a cycle: common practice.
 */
class NoSafeStartRuleTest {
  @ParameterizedTest(name = "comfortable bend {0}°: {1}")
  @CsvSource({"89, WITHHOLD", "89.9, WITHHOLD", "90, PLACE"})
  void aKneeThatBendsLessThanNinety(String bend, Verdict verdict) {
    Story story = Story.knee().knows("comfortable-flexion", bend + " deg").begins();
    assertEquals(verdict, story.verdict());
    assertEquals(verdict == Verdict.WITHHOLD, story.says(Reason.NO_SAFE_START));
    assertEquals(verdict == Verdict.WITHHOLD, story.decision().reviewAsked());
  }

  @ParameterizedTest(name = "gap {0} cm, rolls of 8 cm together: {1}")
  @CsvSource({"8, PLACE", "8.1, WITHHOLD"})
  void aGapBeyondTheRolls(String gap, Verdict verdict) {
    assertEquals(verdict, Story.knee().knows("gap", gap + " cm").begins().verdict());
  }

  @ParameterizedTest(name = "heel, pain at rest {0}: {1}")
  @CsvSource({"4, PLACE", "4.9, PLACE", "5, WITHHOLD", "10, WITHHOLD"})
  void aCalfThatHurtsAtRest(String pain, Verdict verdict) {
    Story story = Story.heel().knows("pain-at-rest", pain + " {score}").begins();
    assertEquals(verdict, story.verdict());
  }

  @Test
  void aBetterBaselineLaterPlaces() {
    Story story = Story.knee().knows("comfortable-flexion", "80 deg").begins();
    story.passes(5).measured("comfortable-flexion", "95 deg");
    assertEquals(Verdict.PLACE, story.verdict());
  }
}
