package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.EnumSource;

/** Codes and words of warnings, verdicts and the like. */
class CodesTest {
  @ParameterizedTest
  @EnumSource(Warning.class)
  void aWarningIsFoundByItsCode(Warning warning) {
    assertEquals(Optional.of(warning), Warning.find(warning.code()));
    assertTrue(warning.sentence().endsWith("."), warning.sentence());
  }

  @Test
  void anUnknownCodeIsNoWarning() {
    assertEquals(Optional.empty(), Warning.find("hiccups"));
  }

  /** By the groups of published red-flag lists: infection, clot and heart are emergencies. */
  @ParameterizedTest(name = "{0}: {2}")
  @CsvSource({
    "FEVER, fever, Seek emergency care now.",
    "CALF_SWELLING, calf-swelling, Seek emergency care now.",
    "GIVING_WAY, giving-way, See a clinician today.",
    "NIGHT_PAIN, night-pain, See a clinician within days."
  })
  void howSoonAClinicianMustLook(Warning warning, String code, String said) {
    assertEquals(code, warning.code());
    assertEquals(said, warning.urgency().sentence());
  }

  @Test
  void codesAreWordsInLowerCase() {
    assertEquals("withhold", Verdict.WITHHOLD.code());
    assertEquals("every-change", ChangeControl.EVERY_CHANGE.code());
    assertEquals("clinician", GoalReading.Basis.CLINICIAN.code());
    assertEquals("evidence-thin", Reason.EVIDENCE_THIN.code());
  }
}
