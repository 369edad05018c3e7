package org.tidemark.programme;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Optional;
import java.util.stream.Stream;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.MethodSource;

/** Doses, their order, and what the programmes that ship ask for. */
class DoseTest {

  /**
   * Holds of 10 to 30 s, 60 s in total for an exercise: 4 × 15, 3 × 20 and 2 × 30 s reach it, 3 ×
   * 10 s falls short (ACSM, Garber 2011, MSSE 43:1334-59).
   */
  @ParameterizedTest(name = "{0} holds of {1} s reach 60 s in total: {2}")
  @CsvSource({"4, 15, true", "3, 20, true", "2, 30, true", "3, 10, false", "6, 10, true"})
  void sixtySecondsInTotal(int sets, int hold, boolean reached) {
    assertEquals(reached, new Dose(sets, 0, hold, 0, 7).volume() >= 60);
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource("held")
  void everyHoldThatIsAskedLastsTenToThirtySeconds(Variation variation) {
    for (Dose dose : variation.ladder().steps()) {
      assertTrue(dose.holdSeconds() >= 10 && dose.holdSeconds() <= 30, dose.toString());
    }
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource("held")
  void theBaseOfEveryHoldIsSixtySecondsInTotalEveryDay(Variation variation) {
    assertEquals(60, variation.ladder().baseDose().volume());
    assertEquals(7, variation.ladder().baseDose().timesPerWeek());
  }

  static Stream<Variation> held() {
    return all().filter(v -> v.ladder().baseDose().holdSeconds() > 0);
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource("all")
  void upAndDownTheLadderMeet(Variation variation) {
    List<Dose> steps = variation.ladder().steps();
    for (int i = 0; i < steps.size(); i++) {
      Optional<Dose> above =
          i + 1 < steps.size() ? Optional.of(steps.get(i + 1)) : Optional.empty();
      assertEquals(above, variation.ladder().up(steps.get(i)));
      assertEquals(
          Optional.of(steps.get(i)),
          above
              .flatMap(variation.ladder()::down)
              .or(() -> Optional.of(steps.get(steps.size() - 1))));
    }
    assertEquals(Optional.empty(), variation.ladder().down(steps.get(0)));
  }

  static Stream<Variation> all() {
    return Stream.of(TestProgrammes.KNEE, TestProgrammes.HEEL)
        .flatMap(programme -> programme.stages().stream())
        .flatMap(stage -> stage.exercises().stream())
        .map(Exercise::variation)
        .distinct();
  }

  @Test
  void aDoseSetByHandFindsItsNeighboursOnTheLadder() {
    DoseLadder ladder =
        new DoseLadder(List.of(new Dose(1, 10, 0, 0, 7), new Dose(2, 10, 0, 0, 7)), 1);
    Dose between = new Dose(1, 15, 0, 0, 3);
    assertEquals(Optional.of(new Dose(2, 10, 0, 0, 3)), ladder.up(between));
    assertEquals(Optional.of(new Dose(1, 10, 0, 0, 3)), ladder.down(between));
  }

  @Test
  void aLadderRises() {
    Dose dose = new Dose(2, 10, 0, 0, 7);
    assertThrows(IllegalArgumentException.class, () -> new DoseLadder(List.of(dose, dose), 0));
    assertThrows(IllegalArgumentException.class, () -> new DoseLadder(List.of(dose), 1));
    assertThrows(IllegalArgumentException.class, () -> new DoseLadder(List.of(), 0));
  }

  @ParameterizedTest(name = "{0} sets, {1} times a week")
  @CsvSource({"0, 7", "1, 0", "1, 22"})
  void aDoseIsDoneSometimeAndNotTooOften(int sets, int perWeek) {
    assertThrows(IllegalArgumentException.class, () -> new Dose(sets, 10, 0, 0, perWeek));
  }

  @Test
  void volumeCountsRepetitionsHeldSecondsOrSeconds() {
    assertEquals(20, new Dose(2, 10, 0, 0, 7).volume());
    assertEquals(60, new Dose(4, 0, 15, 0, 7).volume());
    assertEquals(100, new Dose(2, 5, 10, 0, 7).volume());
    assertEquals(120, new Dose(2, 0, 0, 60, 7).volume());
  }
}
