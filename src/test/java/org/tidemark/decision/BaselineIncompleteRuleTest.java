package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.util.List;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/** Nothing is guessed: what is missing is listed and nobody is placed. Common practice. */
class BaselineIncompleteRuleTest {
  @ParameterizedTest(name = "without {0}")
  @ValueSource(strings = {"comfortable-flexion", "pain-at-rest", "can-kneel"})
  void theKneeNeeds(String item) {
    Story story = Story.knee().doesNotKnow(item).begins();
    story.expect(Verdict.INCOMPLETE, Reason.BASELINE_INCOMPLETE);
    assertEquals(List.of(item), story.decision().missing());
    assertEquals(List.of(), story.state.inForce());
  }

  @Test
  void gapOrContactIsEnough() {
    assertEquals(Verdict.PLACE, Story.knee().begins().verdict());
    assertEquals(
        Verdict.PLACE, Story.knee().doesNotKnow("gap").knows("contact", "yes").begins().verdict());
    Story neither = Story.knee().doesNotKnow("gap").begins();
    assertEquals(List.of("gap|contact"), neither.decision().missing());
  }

  /** No contact says that there is a gap, not how large it is. */
  @Test
  void noContactDoesNotSayHowLargeTheGapIs() {
    Story story = Story.knee().doesNotKnow("gap").knows("contact", "no").begins();
    assertEquals(List.of("gap|contact"), story.decision().missing());
  }

  @ParameterizedTest(name = "heel without {0}")
  @ValueSource(strings = {"pain-at-rest", "can-stand-on-one-leg"})
  void theHeelRaiseNeeds(String item) {
    Story story = Story.heel().doesNotKnow(item).begins();
    story.expect(Verdict.INCOMPLETE, Reason.BASELINE_INCOMPLETE);
    assertEquals(List.of(item), story.decision().missing());
  }

  @Test
  void aNoIsAnAnswer() {
    assertEquals(
        Verdict.PLACE, Story.heel().knows("can-stand-on-one-leg", "no").begins().verdict());
  }

  @Test
  void whatIsMissingCanComeLater() {
    Story story = Story.knee().doesNotKnow("comfortable-flexion").begins();
    story.passes(1).measured("comfortable-flexion", "120 deg");
    assertEquals(Verdict.PLACE, story.verdict());
  }
}
