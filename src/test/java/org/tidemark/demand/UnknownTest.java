package org.tidemark.demand;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Arrays;
import java.util.stream.IntStream;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.EnumSource;

/** The points that a ratio is drawn over fill each distribution evenly. */
class UnknownTest {

  @ParameterizedTest
  @EnumSource(Unknown.class)
  void everyCoordinateIsFilledEvenly(Unknown unknown) {
    double[] even = unknown.even();
    Arrays.sort(even);
    double[] expected = IntStream.rangeClosed(1, 255).mapToDouble(i -> i / 256.0).toArray();
    assertArrayEquals(expected, even, 0);
  }

  @ParameterizedTest
  @EnumSource(Unknown.class)
  void noTwoCoordinatesGoTogether(Unknown unknown) {
    double[] one = unknown.even();
    for (Unknown other : Unknown.values()) {
      if (other != unknown) {
        double[] two = other.even();
        double product = 0;
        for (int i = 0; i < one.length; i++) {
          product += (one[i] - 0.5) * (two[i] - 0.5);
        }
        double correlation = 12 * product / one.length;
        assertTrue(Math.abs(correlation) < 0.2, unknown + " and " + other + ": " + correlation);
      }
    }
  }

  /** Mean (low + mode + high) / 3, half below the median, nothing beyond the ends. */
  @ParameterizedTest
  @EnumSource(Unknown.class)
  void aTriangleIsFilledToItsEnds(Unknown unknown) {
    double[] drawn = unknown.triangular(0.50, 0.75, 0.85);
    Arrays.sort(drawn);
    assertEquals(0.70, Arrays.stream(drawn).average().orElseThrow(), 0.001);
    assertEquals(0.50, drawn[0], 0.03);
    assertEquals(0.85, drawn[254], 0.03);
    assertTrue(drawn[0] > 0.50 && drawn[254] < 0.85);
    long belowMode = Arrays.stream(drawn).filter(value -> value < 0.75).count();
    assertEquals(255 * 0.25 / 0.35, belowMode, 1.5);
  }

  @ParameterizedTest
  @EnumSource(Unknown.class)
  void anEstimateIsFilledAsANormalDistribution(Unknown unknown) {
    double[] drawn = unknown.of(Estimate.unknown(10, 2));
    Arrays.sort(drawn);
    assertEquals(10, drawn[127], 1e-9);
    assertEquals(10 + 2 * 1.645, drawn[242], 0.03);
    assertEquals(10 - 2 * 1.645, drawn[12], 0.03);
    assertEquals(7, Arrays.stream(unknown.of(Estimate.measured(7))).max().orElseThrow(), 0);
    assertEquals(7, Arrays.stream(unknown.of(Estimate.measured(7))).min().orElseThrow(), 0);
  }

  @ParameterizedTest
  @EnumSource(Unknown.class)
  void aLogScaleIsFilledEvenly(Unknown unknown) {
    double[] drawn = unknown.evenOnALogScale(1, 3);
    Arrays.sort(drawn);
    assertEquals(Math.sqrt(3), drawn[127], 1e-9);
    assertTrue(drawn[0] > 1 && drawn[254] < 3);
  }
}
