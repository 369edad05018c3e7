package org.tidemark.programme;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.time.LocalDate;
import java.util.Map;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/** When a precaution holds, and what it forbids. */
class PrecautionTest {
  private static final LocalDate FROM = LocalDate.of(2026, 1, 10);
  private static final Variation SQUAT =
      TestProgrammes.KNEE.variation("split-squat-rock").orElseThrow();
  private static final Variation ROCK =
      TestProgrammes.KNEE.variation("quadruped-rock-back").orElseThrow();

  /** Where both an end and clearance are asked for, both must be met. */
  @ParameterizedTest(name = "on {0}: last day {1}, clearance asked {2}, lifted {3}: holds {4}")
  @CsvSource({
    "2026-01-09, , false, false, false",
    "2026-01-10, , false, false, true",
    "2030-01-01, , false, false, true",
    "2026-03-01, 2026-03-01, false, false, true",
    "2026-03-02, 2026-03-01, false, false, false",
    "2026-03-02, 2026-03-01, true, false, true",
    "2026-03-01, 2026-03-01, true, true, true",
    "2026-03-02, 2026-03-01, true, true, false",
    "2026-02-01, 2026-03-01, false, true, true",
    "2026-02-01, , true, false, true",
    "2026-02-01, , true, true, false",
    "2026-02-01, , false, true, false"
  })
  void endAndClearance(
      LocalDate day, LocalDate until, boolean clearance, boolean lifted, boolean holds) {
    Precaution precaution =
        new Precaution(
            "surgeon's limit",
            Precaution.Scope.ALL,
            Optional.empty(),
            Optional.empty(),
            Optional.empty(),
            FROM,
            Optional.ofNullable(until),
            clearance,
            lifted);
    assertEquals(holds, precaution.holdsOn(day));
  }

  @ParameterizedTest(name = "step of {0} cm with at least {1} and at most {2}: allowed {3}")
  @CsvSource({
    "17, 17, , true",
    "16.9, 17, , false",
    "17, , 17, true",
    "17.1, , 17, false",
    "17, 10, 20, true"
  })
  void bothEndsAreAllowed(String step, String least, String most, boolean allowed) {
    Precaution precaution =
        limit(
            Precaution.Scope.ALL,
            "step-height",
            Optional.ofNullable(least).map(n -> Amount.of(n, Unit.CENTIMETRE)),
            Optional.ofNullable(most).map(n -> Amount.of(n, Unit.CENTIMETRE)));
    Setting setting = new Setting(Map.of("step-height", Amount.of(step, Unit.CENTIMETRE)));
    assertEquals(allowed, TestProgrammes.KNEE.allows(precaution, SQUAT, setting));
  }

  /** No loaded bend beyond 90°: the squat bends the knee fully, the rock-back carries no load. */
  @Test
  void aLimitOnTheLoadedBendLeavesTheUnloadedOneAlone() {
    Optional<Amount> ninety = Optional.of(Amount.of(90, Unit.DEGREE));
    Precaution loaded = limit(Precaution.Scope.LOADED, "knee-flexion", Optional.empty(), ninety);
    Precaution unloaded =
        limit(Precaution.Scope.UNLOADED, "knee-flexion", Optional.empty(), ninety);
    Setting any = new Setting(Map.of());
    assertEquals(false, TestProgrammes.KNEE.allows(loaded, SQUAT, any));
    assertEquals(true, TestProgrammes.KNEE.allows(loaded, ROCK, any));
    assertEquals(true, TestProgrammes.KNEE.allows(unloaded, SQUAT, any));
    assertEquals(false, TestProgrammes.KNEE.allows(unloaded, ROCK, any));
  }

  /** The squat takes the knee to 140°. */
  @ParameterizedTest(name = "at most {0}°: {1}")
  @CsvSource({"139, false", "140, true"})
  void aBendIsComparedWithHowFarTheExerciseTakesIt(long most, boolean allowed) {
    Precaution precaution =
        limit(
            Precaution.Scope.ALL,
            "knee-flexion",
            Optional.empty(),
            Optional.of(Amount.of(most, Unit.DEGREE)));
    assertEquals(allowed, TestProgrammes.KNEE.allows(precaution, SQUAT, new Setting(Map.of())));
  }

  @Test
  void aLimitOnAVariableLeavesExercisesWithoutItAlone() {
    Precaution precaution =
        limit(
            Precaution.Scope.ALL,
            "step-height",
            Optional.of(Amount.of(30, Unit.CENTIMETRE)),
            Optional.empty());
    assertEquals(true, TestProgrammes.KNEE.allows(precaution, ROCK, new Setting(Map.of())));
  }

  @Test
  void aLimitOnSomethingUnknownForbidsAllThatItIsAbout() {
    Precaution precaution =
        limit(
            Precaution.Scope.LOADED,
            "hip-rotation",
            Optional.empty(),
            Optional.of(Amount.of(30, Unit.DEGREE)));
    assertEquals(false, TestProgrammes.KNEE.allows(precaution, SQUAT, new Setting(Map.of())));
    assertEquals(true, TestProgrammes.KNEE.allows(precaution, ROCK, new Setting(Map.of())));
  }

  private static Precaution limit(
      Precaution.Scope scope, String measure, Optional<Amount> least, Optional<Amount> most) {
    return new Precaution(
        "limit", scope, Optional.of(measure), least, most, FROM, Optional.empty(), false, false);
  }
}
