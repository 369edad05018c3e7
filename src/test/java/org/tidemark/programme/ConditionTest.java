package org.tidemark.programme;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Map;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;

/** Conditions of a programme: both sides of each limit, and what is not known does not hold. */
class ConditionTest {
  private static final Amount NINETY = Amount.of(90, Unit.DEGREE);

  @ParameterizedTest(name = "{0}°: at least 90 {1}, at most 90 {2}, below 90 {3}")
  @CsvSource({"89.9, false, true, true", "90, true, true, false", "90.1, true, false, false"})
  void limitsOfAnAngle(String angle, boolean atLeast, boolean atMost, boolean below) {
    Map<String, Value> facts = Map.of("bend", Amount.of(angle, Unit.DEGREE));
    assertEquals(atLeast, new Condition.AtLeast("bend", NINETY).holds(facts, Equipment.NONE));
    assertEquals(atMost, new Condition.AtMost("bend", NINETY).holds(facts, Equipment.NONE));
    assertEquals(below, new Condition.Below("bend", NINETY).holds(facts, Equipment.NONE));
  }

  @Test
  void whatIsNotKnownDoesNotHold() {
    Source rolls = new Source.Stack(List.of("towel-roll"), Amount.of(40, Unit.CENTIMETRE));
    List<Condition> all =
        List.of(
            new Condition.AtLeast("bend", NINETY),
            new Condition.AtMost("bend", NINETY),
            new Condition.Below("bend", NINETY),
            new Condition.Is("bend", YesNo.NO),
            new Condition.BeyondReach("bend", rolls),
            new Condition.Owns("bend"));
    for (Condition condition : all) {
      assertFalse(condition.holds(Map.of(), Equipment.NONE), condition.toString());
    }
  }

  @ParameterizedTest(name = "a gap of {0} cm is beyond rolls of 3 and 4 cm: {1}")
  @CsvSource({"6.9, false", "7, false", "7.1, true"})
  void beyondReach(String gap, boolean beyond) {
    Source rolls = new Source.Stack(List.of("towel-roll"), Amount.of(40, Unit.CENTIMETRE));
    Equipment kit =
        new Equipment(
            Map.of(
                "towel-roll",
                List.of(Amount.of(3, Unit.CENTIMETRE), Amount.of(4, Unit.CENTIMETRE))));
    assertEquals(
        beyond,
        new Condition.BeyondReach("gap", rolls)
            .holds(Map.of("gap", Amount.of(gap, Unit.CENTIMETRE)), kit));
  }

  @Test
  void anAnswerOfNoIsNotAPiece() {
    assertTrue(
        new Condition.Owns("rail")
            .holds(Map.of(), new Equipment(Map.of("rail", List.of(YesNo.YES)))));
    assertFalse(
        new Condition.Owns("rail")
            .holds(Map.of(), new Equipment(Map.of("rail", List.of(YesNo.NO)))));
  }
}
