package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;

import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/**
 * MDC95 = 1.96·√2·SEM. The expected values are worked by hand to two decimals: √2 = 1.41421, times
 * 1.96 = 2.77186, times SEM.
 */
class MinimalDetectableChangeTest {

  @ParameterizedTest(name = "SEM {0}°: {1}°")
  @CsvSource({"2, 5.54", "3, 8.32", "4, 11.09", "5, 13.86"})
  void followsTheFormula(double error, double expected) {
    assertEquals(expected, MinimalDetectableChange.at95(error, error), 0.01);
  }
}
