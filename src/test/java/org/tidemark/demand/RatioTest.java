package org.tidemark.demand;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;

import java.util.List;
import java.util.stream.IntStream;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/** A ratio holds its band. */
class RatioTest {
  @Test
  void fivePercentLieBeyondEachEnd() {
    double[] ratios = IntStream.rangeClosed(1, 255).mapToDouble(i -> 256 - i).toArray();
    assertEquals(new Ratio(13, 128, 243, false, List.of()), Ratio.of(ratios, false, List.of()));
  }

  @ParameterizedTest(name = "{0}, {1}, {2}")
  @CsvSource({"-0.1, 1, 2", "1.1, 1, 2", "0.5, 1, 0.9", "0, 1, Infinity", "NaN, NaN, NaN"})
  void aBandOutOfOrderIsRefused(double low, double mid, double high) {
    assertThrows(IllegalArgumentException.class, () -> new Ratio(low, mid, high, false, List.of()));
  }
}
