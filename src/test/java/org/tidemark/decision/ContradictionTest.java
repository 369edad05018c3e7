package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.time.OffsetDateTime;
import java.util.Map;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.PainScore;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;
import org.tidemark.response.Morning;

/** When two records cannot both be right. */
class ContradictionTest {
  private static final OffsetDateTime AT = OffsetDateTime.parse("2026-04-20T07:00:00+02:00");

  private static FactSource record(String id) {
    return new FactSource("Observation", id, 1);
  }

  private static Fact flexion(String id, OffsetDateTime at, Amount amount) {
    return new Fact.Measured(at, record(id), "knee-flexion", amount, "", "");
  }

  private static Fact degrees(String id, String number) {
    return flexion(id, AT, Amount.of(number, Unit.DEGREE));
  }

  private static Fact morning(String id, Optional<PainScore> pain, Optional<Integer> stiffness) {
    return new Fact.MorningAfter(
        AT,
        record(id),
        new Morning(AT, pain, stiffness, Optional.empty(), Optional.empty(), Optional.empty()));
  }

  private static Fact baseline(String id, Map<String, Value> items) {
    return new Fact.BaselineTaken(AT, record(id), items, "", "");
  }

  @Test
  void twoNumbersOfOneMomentAre() {
    assertTrue(Contradiction.between(degrees("a", "100"), degrees("b", "108")));
    assertFalse(Contradiction.between(degrees("a", "100"), degrees("b", "100.0")));
    assertFalse(Contradiction.between(degrees("a", "100"), degrees("a", "108")), "one record");
  }

  @Test
  void anotherMomentIsAnotherMatter() {
    Amount amount = Amount.of("108", Unit.DEGREE);
    assertFalse(
        Contradiction.between(degrees("a", "100"), flexion("b", AT.plusSeconds(1), amount)));
    assertTrue(
        Contradiction.between(
            degrees("a", "100"),
            flexion("b", OffsetDateTime.parse("2026-04-20T05:00:00Z"), amount)),
        "the same moment in another offset");
  }

  @Test
  void onlyAnswersToOneQuestionAre() {
    Optional<PainScore> none = Optional.empty();
    Fact pain = morning("a", Optional.of(PainScore.of(1)), Optional.empty());
    assertFalse(Contradiction.between(pain, morning("b", none, Optional.of(10))));
    assertFalse(
        Contradiction.between(pain, morning("b", Optional.of(PainScore.of(1)), Optional.of(10))));
    assertTrue(
        Contradiction.between(pain, morning("b", Optional.of(PainScore.of(4)), Optional.of(10))));
    Fact score = new Fact.PainScored(AT, record("b"), PainScore.of(4));
    assertFalse(Contradiction.between(pain, score), "a bare score is placed by its time");
  }

  @Test
  void ofTwoBaselinesTheItemsThatBothHaveAreCompared() {
    Map<String, Value> one = Map.of("gap", Amount.of("9.5", Unit.CENTIMETRE));
    Map<String, Value> more =
        Map.of(
            "gap",
            Amount.of("9.50", Unit.CENTIMETRE),
            "calf-girth",
            Amount.of(38, Unit.CENTIMETRE));
    Map<String, Value> other = Map.of("gap", Amount.of("7", Unit.CENTIMETRE));
    assertFalse(Contradiction.between(baseline("a", one), baseline("b", more)));
    assertTrue(Contradiction.between(baseline("a", other), baseline("b", more)));
    assertEquals(
        Contradiction.between(baseline("b", more), baseline("a", other)),
        Contradiction.between(baseline("a", other), baseline("b", more)));
  }
}
