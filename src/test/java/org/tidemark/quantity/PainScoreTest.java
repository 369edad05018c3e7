package org.tidemark.quantity;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.math.BigDecimal;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/** The numeric rating scale runs from 0 to 10 (Farrar 2001, Pain 94:149-58). */
class PainScoreTest {
  @ParameterizedTest
  @ValueSource(strings = {"0", "0.5", "10", "10.0"})
  void theScaleIsTaken(String score) {
    BigDecimal value = new BigDecimal(score);
    assertEquals(0, new PainScore(value).value().compareTo(value));
  }

  @ParameterizedTest
  @ValueSource(strings = {"-0.1", "10.1", "11"})
  void nothingElseIs(String score) {
    BigDecimal value = new BigDecimal(score);
    assertThrows(IllegalArgumentException.class, () -> new PainScore(value));
  }

  @Test
  void equalScoresAreEqualHoweverTheyAreWritten() {
    assertEquals(PainScore.of(2), new PainScore(new BigDecimal("2.0")));
    assertEquals(PainScore.NONE, new PainScore(new BigDecimal("0.00")));
    assertEquals("0", new PainScore(new BigDecimal("0.00")).toString());
    assertEquals("1.5", new PainScore(new BigDecimal("1.50")).toString());
  }

  @Test
  void oneIsAboveAnotherOnlyWhenItIsMore() {
    assertTrue(PainScore.of(3).isAbove(PainScore.of(2)));
    assertFalse(PainScore.of(2).isAbove(PainScore.of(2)));
    assertFalse(PainScore.of(1).isAbove(PainScore.of(2)));
    assertEquals(BigDecimal.valueOf(2), PainScore.of(3).above(PainScore.of(1)));
    assertEquals(BigDecimal.valueOf(-2), PainScore.of(1).above(PainScore.of(3)));
  }
}
