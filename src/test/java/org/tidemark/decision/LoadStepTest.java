package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.math.BigDecimal;
import java.time.OffsetDateTime;
import java.util.Arrays;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.programme.Equipment;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.TestProgrammes;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/**
 * Loads go up by 2 to 10 % (ACSM, Ratamess 2009, MSSE 41:687-708): from 10 kg that is 10.2 to 11
 * kg. With steps of 1 kg, 10 can only go to 11, which is 10 %; from 5 the smallest that is owned,
 * 6, is 20 %.
 */
class LoadStepTest {
  private static final ProgressionVariable LOAD =
      TestProgrammes.KNEE
          .variation("split-squat-rock")
          .flatMap(squat -> squat.variable("dumbbell-load"))
          .orElseThrow();

  @ParameterizedTest(name = "at {0} kg with {1}: {2} kg weighs in at {3} %")
  @CsvSource({
    "10, 1 2 3 4 5 6 7 8 9 10 11 12, 11, 10",
    "5, 1 2 3 4 5 6 7 8, 6, 20",
    "10, 10 10.2 11, 10.2, 2",
    "10, 10 10.1 11, 11, 10",
    "50, 50 51 55, 51, 2"
  })
  void theSmallestOwnedStepOfAtLeastTwoPercent(
      BigDecimal now, String owned, BigDecimal next, BigDecimal percent) {
    assertEquals(0, LOAD.leastStepPercent().compareTo(BigDecimal.valueOf(2)));
    List<Value> pieces =
        Arrays.stream(owned.split(" "))
            .map(kilograms -> (Value) Amount.of(kilograms, Unit.KILOGRAM))
            .toList();
    Equipment kit = new Equipment(Map.of("dumbbell-pair", pieces));
    Amount from = new Amount(now, Unit.KILOGRAM);
    PlanState.Person person =
        new PlanState.Person(
            Map.of(), Map.of(), kit, List.of(), List.of(), Optional.empty(), Map.of(), Map.of());
    Surroundings around =
        new Surroundings(TestProgrammes.KNEE, person, OffsetDateTime.parse("2026-01-05T12:00Z"));
    Amount chosen = (Amount) around.harder(LOAD, from).orElseThrow();
    assertEquals(new Amount(next, Unit.KILOGRAM), chosen);
    assertEquals(0, chosen.minus(from).value().movePointRight(2).compareTo(percent.multiply(now)));
  }
}
