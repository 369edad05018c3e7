package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/**
 * Where an exercise asks for contact, the last answered session must have reached it; not reported
 * is not reached. Common practice.
 */
class ContactNotReachedRuleTest {
  @ParameterizedTest(name = "{0}: {1}")
  @CsvSource({"0 0 0, PROGRESS", "0 0 0 no-contact, MAINTAIN", "0 0 0 contact-unknown, MAINTAIN"})
  void theLastSession(String day, Verdict verdict) {
    Story story = Story.knee().begins().quiet(4).day(day);
    assertEquals(verdict, story.verdict());
    assertEquals(verdict == Verdict.MAINTAIN, story.says(Reason.CONTACT_NOT_REACHED));
  }

  @Test
  void reachedTheNextTimeItGoesOn() {
    Story story = Story.knee().begins().quiet(4).day("0 0 0 no-contact").quiet(1);
    story.expect(Verdict.PROGRESS, Reason.SETTLED);
  }

  /** The heel raise asks for no contact. */
  @ParameterizedTest(name = "heel, {0}")
  @ValueSource(strings = {"0 0 0", "0 0 0 no-contact", "0 0 0 contact-unknown"})
  void theHeelRaiseAsksForNone(String day) {
    Story story = Story.heel().begins().quietEveryOtherDay(6).day(day);
    assertFalse(story.says(Reason.CONTACT_NOT_REACHED));
    assertEquals(Verdict.PROGRESS, story.verdict());
  }
}
