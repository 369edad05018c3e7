package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.demand.Ratio;

class DemandTextTest {
  @ParameterizedTest(name = "{1} of {0} to {2}")
  @CsvSource(
      delimiter = '|',
      value = {
        "1.018 | 1.041 | 1.08 | about 4 % more than what stood before (between 2 % more and 8 % more)",
        "0.632 | 0.811 | 0.962 | about 19 % less than what stood before (between 37 % less and 4 % less)",
        "0.97 | 1.001 | 1.004 | about as much as what stood before (between 3 % less and as much)"
      })
  void aStepIsMoreOrLessWithItsBand(double low, double mid, double high, String words) {
    String step = DemandText.step(Sample.TEXTS, new Ratio(low, mid, high, false, List.of()));
    assertTrue(step.contains(words), step);
    assertTrue(step.contains("Symptoms decide"), step);
    assertFalse(step.contains("uncertain"), step);
  }

  /** Both sides of each edge of the band: it holds 1, or lies above it, or below. */
  @ParameterizedTest(name = "{0} to {2}: {3}")
  @CsvSource(
      delimiter = '|',
      value = {
        "1.001 | 1.04 | 1.08 | this asks more than what stood before; how much is uncertain",
        "1.0 | 1.04 | 1.08 | it is uncertain whether this asks more or less",
        "0.7 | 0.8 | 1.0 | it is uncertain whether this asks more or less",
        "0.7 | 0.8 | 0.999 | this asks less than what stood before; how much is uncertain"
      })
  void beyondTheModelOnlyMoreOrLess(double low, double mid, double high, String words) {
    String step =
        DemandText.step(Sample.TEXTS, new Ratio(low, mid, high, true, List.of("calf-girth")));
    assertTrue(step.contains(words), step);
    assertFalse(step.contains("%"), step);
    assertTrue(step.endsWith("Estimated for want of a measurement: calf girth."), step);
  }

  @Test
  void neverAForceAndNeverAPromise() {
    String step = DemandText.step(Sample.TEXTS, new Ratio(1.01, 1.04, 1.08, true, List.of()));
    assertFalse(step.matches("(?is).*\\b(safe|newton|N|MPa|pascal|force)\\b.*"), step);
    assertEquals(1, step.lines().count());
  }
}
