package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.apache.commons.math3.distribution.BetaDistribution;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/**
 * How many settled sessions are enough: a Beta(1, 1) prior over the share of unsettled ones, and a
 * chance of at least 0.80 that the true share is below the limit.
 */
class EvidenceTest {

  /** The beta distribution of another library says the same, on a grid. */
  @ParameterizedTest(name = "limit {0}")
  @ValueSource(doubles = {0.15, 0.20, 0.25, 0.5})
  void agreesWithASecondLibrary(double rate) {
    for (int factor : new int[] {1, 2, 4, 8}) {
      for (int answered = 0; answered <= 60; answered++) {
        for (int unsettled = 0; unsettled <= answered; unsettled++) {
          double expected =
              new BetaDistribution(
                      1 + (double) unsettled / factor, 1 + (double) (answered - unsettled) / factor)
                  .cumulativeProbability(rate);
          assertEquals(expected, new Evidence(answered, unsettled).chanceBelow(rate, factor), 1e-9);
        }
      }
    }
  }

  /**
   * With none unsettled the chance is 1 - (1 - p)^(n + 1), which first reaches 0.80 at 5, 7 and 9
   * sessions for the limits of the unloaded, the body-weight and the loaded stage.
   */
  @ParameterizedTest(name = "limit {0}: {1} in a row")
  @CsvSource({"0.25, 5", "0.20, 7", "0.15, 9"})
  void fiveSevenAndNineInARow(double rate, int enough) {
    assertEquals(
        1 - Math.pow(1 - rate, enough + 1), new Evidence(enough, 0).chanceBelow(rate, 1), 1e-12);
    assertTrue(new Evidence(enough, 0).suffices(rate, 1));
    assertFalse(new Evidence(enough - 1, 0).suffices(rate, 1));
  }

  /** The number that the second library asks for, after a change has failed. */
  @ParameterizedTest(name = "limit {0}, factor {1}: {2} in a row")
  @CsvSource({
    "0.25, 2, 10",
    "0.25, 4, 19",
    "0.25, 8, 37",
    "0.20, 2, 13",
    "0.20, 4, 25",
    "0.15, 2, 18"
  })
  void aFailedChangeNeedsMore(double rate, int factor, int enough) {
    int counted = 0;
    while (new BetaDistribution(1, 1 + (double) counted / factor).cumulativeProbability(rate)
        < 0.80) {
      counted++;
    }
    assertEquals(enough, counted);
    assertTrue(new Evidence(enough, 0).suffices(rate, factor));
    assertFalse(new Evidence(enough - 1, 0).suffices(rate, factor));
  }

  @ParameterizedTest(name = "limit {0}, one stirred: {1} answered")
  @CsvSource({"0.25, 10", "0.20, 13", "0.15, 18"})
  void oneStirredAsksForMore(double rate, int enough) {
    int counted = 1;
    while (new BetaDistribution(2, counted).cumulativeProbability(rate) < 0.80) {
      counted++;
    }
    assertEquals(enough, counted);
    assertTrue(new Evidence(enough, 1).suffices(rate, 1));
    assertFalse(new Evidence(enough - 1, 1).suffices(rate, 1));
  }

  @Test
  void nothingKnownIsThePrior() {
    assertEquals(0.25, new Evidence(0, 0).chanceBelow(0.25, 1), 1e-12);
  }
}
