package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/**
 * A newest morning above rest or more swollen keeps the plan where it is, even with no session the
 * day before. Common practice.
 */
class UnquietMorningRuleTest {
  @ParameterizedTest(name = "rest 0, morning {0}: unquiet {1}")
  @CsvSource({"0, false", "1, true"})
  void aboveRest(String pain, boolean unquiet) {
    Story story = Story.bendingKnee().begins().quiet(2).passes(1).morning(pain);
    assertEquals(unquiet, story.says(Reason.UNQUIET_MORNING));
  }

  @ParameterizedTest(name = "rest 2, morning {0}: unquiet {1}")
  @CsvSource({"2, false", "3, true"})
  void aboveTheBaselinesRest(String pain, boolean unquiet) {
    Story story = Story.knee().knows("pain-at-rest", "2 {score}").begins().passes(1).morning(pain);
    assertEquals(unquiet, story.says(Reason.UNQUIET_MORNING));
  }

  @Test
  void swellingAloneIsUnquiet() {
    Story story = Story.bendingKnee().begins().quiet(2).passes(1).morning("-", true, false);
    assertTrue(story.says(Reason.UNQUIET_MORNING));
  }

  @ParameterizedTest(name = "heel, morning {0}: unquiet {1}")
  @CsvSource({"0, false", "1, true", "4, true"})
  void theHeelRaise(String pain, boolean unquiet) {
    Story story = Story.heel().begins().quiet(2).passes(1).morning(pain);
    assertEquals(unquiet, story.says(Reason.UNQUIET_MORNING));
  }

  /** Everything is ready for the dumbbell that arrives; the sore morning of a rest day waits. */
  @Test
  void itHoldsBackWhatIsReady() {
    Story story =
        Story.heel()
            .owns("dumbbell-pair", "2 kg")
            .begins()
            .quietUntil("standing-heel-raise", "dumbbell-load", "2 kg")
            .quietUntil(s -> s.says(Reason.NO_FEASIBLE_CHANGE));
    story.owns("dumbbell-pair", "2 kg", "5 kg").passes(1).morning("1").equipment();
    assertEquals(Verdict.MAINTAIN, story.verdict());
    story.passes(1).morning("0");
    assertEquals(Verdict.PROGRESS, story.verdict());
  }
}
