package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.decision.GoalReading.Basis;
import org.tidemark.decision.GoalReading.Target;
import org.tidemark.programme.TestProgrammes;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/** What a person is to reach: a clinician's word, the other knee, girths, or an everyday task. */
class GoalReadingTest {
  private static GoalReading range(Story story) {
    return GoalReading.read(TestProgrammes.KNEE.goals().get(0), story.state);
  }

  private static Optional<Target> target(Story story) {
    return range(story).target();
  }

  private static Story girths(Story story) {
    return story.knows("calf-girth", "39.2 cm").knows("thigh-girth", "62.5 cm");
  }

  private static Target of(long degrees, Basis basis, String by) {
    return new Target(Amount.of(degrees, Unit.DEGREE), basis, by);
  }

  @Test
  void aCliniciansWordWinsUntilItIsTakenBack() {
    Story story = girths(Story.knee()).knows("other-side-flexion", "150 deg").begins();
    story.aims("range", "125 deg");
    assertEquals(Optional.of(of(125, Basis.CLINICIAN, "")), target(story));
    story.aims("range", "-");
    assertEquals(Optional.of(of(150, Basis.MEASURED, "other-side-flexion")), target(story));
  }

  /**
   * Mean girths of men, ANSUR II 2012: calf 392 mm, thigh 625 mm, just above the knee 409 mm. The
   * geometry then puts the onset at 129.7 degrees.
   */
  @Test
  void girthsSayWhereCalfAndThighMeet() {
    Target met = target(girths(Story.knee()).begins()).orElseThrow();
    assertEquals(of(130, Basis.COMPUTED, "thigh-calf-contact"), met);
  }

  @Test
  void oneGirthIsNotEnough() {
    Story story = Story.knee().knows("calf-girth", "39.2 cm").begins();
    assertEquals(Basis.FUNCTIONAL, target(story).orElseThrow().basis());
  }

  /** 90 degrees down stairs, 110 a suitable goal, about 135 the bath: Rowe 2000, Hancock 2018. */
  @ParameterizedTest(name = "bends to {0}° at the start: {1}°")
  @CsvSource({"89, 90", "90, 110", "109, 110", "110, 135", "134, 135", "135, 135", "150, 135"})
  void elseTheFirstTaskThatIsBeyondThePerson(String start, long degrees) {
    Story story = Story.knee().knows("comfortable-flexion", start + " deg").begins();
    Target found = target(story).orElseThrow();
    assertEquals(Amount.of(degrees, Unit.DEGREE), found.value());
    assertEquals(Basis.FUNCTIONAL, found.basis());
  }

  /** A goal that moved ahead with the person would never be met. */
  @Test
  void theTaskStaysTheOneOfTheStart() {
    Story story = Story.knee().knows("comfortable-flexion", "100 deg").begins();
    story.measured("comfortable-flexion", "112 deg");
    assertEquals(Amount.of(110, Unit.DEGREE), target(story).orElseThrow().value());
    assertTrue(range(story).met());
  }

  @Test
  void theProgrammesOwnValueIsSaidToBeThat() {
    GoalReading floor =
        GoalReading.read(TestProgrammes.KNEE.goals().get(1), Story.knee().begins().state);
    assertEquals(
        Optional.of(new Target(Amount.zero(Unit.CENTIMETRE), Basis.PROGRAMME, "")), floor.target());
  }

  /** A grade is reached by that grade alone. */
  @ParameterizedTest(name = "heel raise on {0}: {1}")
  @CsvSource({"two-legs, false", "one-leg, true"})
  void aGradeIsReachedByItself(String legs, boolean met) {
    Story story = Story.heel().begins();
    story.setByHand("standing-heel-raise", "legs-used", legs);
    GoalReading goal = GoalReading.read(TestProgrammes.HEEL.goals().get(0), story.state);
    assertEquals(met, goal.met());
    assertEquals(Optional.of(Story.value(legs)), goal.now());
  }

  @Test
  void anAmountInAnotherUnitIsNotReached() {
    Story story = Story.knee().begins().aims("range", "40 cm");
    assertEquals(Basis.CLINICIAN, target(story).orElseThrow().basis());
    assertFalse(range(story).met());
  }
}
