package org.tidemark.response;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.math.BigDecimal;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.EnumSource;
import org.tidemark.quantity.PainScore;

/**
 * How a session is called from its symptoms, under both policies. An empty cell is an answer that
 * has not been given.
 */
class ResponsePolicyTest {

  /**
   * Symptom-free: nothing above rest (common practice). A next morning 2 points above rest is the
   * clinically important change (Farrar 2001, Pain 94:149-58); during or after, above 5 is too much
   * (Thomeé 1997, Phys Ther 77:1690-703).
   */
  @ParameterizedTest(name = "rest {0}, during {1}, after {2}, morning {3}: {4}")
  @CsvSource({
    "0, 0, 0, 0, SETTLED",
    "0, 1, 0, 0, STIRRED",
    "0, 0, 1, 0, STIRRED",
    "0, 0, 0, 1, STIRRED",
    "0, 0, 0, 1.9, STIRRED",
    "0, 0, 0, 2, FLARED",
    "0, 5, 0, 0, STIRRED",
    "0, 5.1, 0, 0, FLARED",
    "0, 6, 0, 0, FLARED",
    "0, 0, 5, 0, STIRRED",
    "0, 0, 5.1, 0, FLARED",
    "0, 0, 0, , PENDING",
    "0, , 0, 0, PENDING",
    "0, 0, , 0, PENDING",
    "0, 6, 0, , FLARED",
    "0, 1, 0, , STIRRED",
    "2, 2, 2, 2, SETTLED",
    "2, 0, 0, 0, SETTLED",
    "2, 3, 2, 2, STIRRED",
    "2, 2, 2, 3.9, STIRRED",
    "2, 2, 2, 4, FLARED",
    "6, 6, 6, 6, FLARED"
  })
  void symptomFree(
      BigDecimal rest, BigDecimal during, BigDecimal after, BigDecimal morning, Response expected) {
    assertEquals(
        expected, ResponsePolicy.SYMPTOM_FREE.judge(symptoms(rest, during, after, morning)));
  }

  /**
   * Pain-monitored: 0 to 2 safe, above 2 to 5 acceptable, above 5 too much; the next morning back
   * at rest (Thomeé 1997, Phys Ther 77:1690-703; Silbernagel 2007, Am J Sports Med 35:897-906).
   * Where the zones touch, at 2 and at 5, the lower one has the end.
   */
  @ParameterizedTest(name = "rest {0}, during {1}, after {2}, morning {3}: {4}")
  @CsvSource({
    "0, 0, 0, 0, SETTLED",
    "0, 2, 0, 0, SETTLED",
    "0, 2.1, 0, 0, STIRRED",
    "0, 5, 0, 0, STIRRED",
    "0, 5.1, 0, 0, FLARED",
    "0, 0, 2, 0, SETTLED",
    "0, 0, 2.1, 0, STIRRED",
    "0, 0, 5, 0, STIRRED",
    "0, 0, 5.1, 0, FLARED",
    "0, 6, 0, 0, FLARED",
    "0, 0, 0, 1, FLARED",
    "0, 2, 2, 0.1, FLARED",
    "1, 2, 2, 1, SETTLED",
    "1, 2, 2, 1.1, FLARED",
    "0, 2, 2, , PENDING",
    "0, 3, 2, , STIRRED",
    "0, 6, 2, , FLARED",
    "0, , 2, 0, PENDING"
  })
  void painMonitored(
      BigDecimal rest, BigDecimal during, BigDecimal after, BigDecimal morning, Response expected) {
    assertEquals(
        expected, ResponsePolicy.PAIN_MONITORED.judge(symptoms(rest, during, after, morning)));
  }

  @ParameterizedTest(name = "{0}")
  @EnumSource(ResponsePolicy.class)
  void moreSwellingIsAFlareWhateverThePain(ResponsePolicy policy) {
    assertEquals(Response.FLARED, policy.judge(quiet(true, false, false, false)));
  }

  @ParameterizedTest(name = "{0}")
  @EnumSource(ResponsePolicy.class)
  void stillWorseAfterADayIsAFlare(ResponsePolicy policy) {
    assertEquals(Response.FLARED, policy.judge(quiet(false, false, true, false)));
  }

  @ParameterizedTest(name = "{0}")
  @EnumSource(ResponsePolicy.class)
  void unwillingToRepeatItIsStirred(ResponsePolicy policy) {
    assertEquals(Response.STIRRED, policy.judge(quiet(false, true, false, false)));
  }

  /** Pain and stiffness must not rise from week to week (Silbernagel 2007). */
  @Test
  void aRiseFromWeekToWeekCountsWherePainIsAllowed() {
    assertEquals(
        Response.STIRRED, ResponsePolicy.PAIN_MONITORED.judge(quiet(false, false, false, true)));
    assertEquals(
        Response.SETTLED, ResponsePolicy.SYMPTOM_FREE.judge(quiet(false, false, false, true)));
  }

  private static Symptoms quiet(
      boolean swollen, boolean unwilling, boolean stillWorse, boolean rising) {
    Optional<PainScore> none = Optional.of(PainScore.NONE);
    return new Symptoms(PainScore.NONE, none, none, none, swollen, unwilling, stillWorse, rising);
  }

  private static Symptoms symptoms(
      BigDecimal rest, BigDecimal during, BigDecimal after, BigDecimal morning) {
    return new Symptoms(
        new PainScore(rest),
        Optional.ofNullable(during).map(PainScore::new),
        Optional.ofNullable(after).map(PainScore::new),
        Optional.ofNullable(morning).map(PainScore::new),
        false,
        false,
        false,
        false);
  }
}
