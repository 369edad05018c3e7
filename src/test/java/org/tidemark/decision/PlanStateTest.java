package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.decision.PlanState.Angle;
import org.tidemark.decision.PlanState.Control;
import org.tidemark.decision.PlanState.Person;
import org.tidemark.decision.PlanState.Standing;
import org.tidemark.decision.PlanState.UpwardChange;
import org.tidemark.programme.Equipment;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/** What a plan keeps of a long history, and what it lets go. */
class PlanStateTest {
  private static final OffsetDateTime START = OffsetDateTime.parse("2026-01-05T12:00:00+01:00");

  private static FactSource source(int number) {
    return new FactSource("Observation", "n" + number, 1);
  }

  private static Fact.Measured bend(int number, Unit unit, String rater) {
    return new Fact.Measured(
        START.plusDays(number),
        source(number),
        "bend",
        Amount.of(number, unit),
        "goniometer",
        rater);
  }

  /** Two years of a reading a week: 104, of which the first always stays. */
  @ParameterizedTest(name = "{0} readings: {1} kept, the second of them number {2}")
  @CsvSource({"103, 103, 2", "104, 104, 2", "105, 104, 3", "110, 104, 8"})
  void theFirstReadingAndTheNewestAreKept(int readings, int kept, int second) {
    Person person = Person.UNKNOWN;
    for (int i = 1; i <= readings; i++) {
      person = person.measured(bend(i, Unit.DEGREE, ""), List.of());
    }
    List<Angle> angles = person.angles().get("bend");
    assertEquals(kept, angles.size());
    assertEquals(1, angles.get(0).reading().degrees());
    assertEquals(second, angles.get(1).reading().degrees());
    assertEquals(readings, angles.get(kept - 1).reading().degrees());
  }

  @Test
  void onlyAnglesAreReadings() {
    Person person = Person.UNKNOWN.measured(bend(1, Unit.CENTIMETRE, ""), List.of());
    assertTrue(person.angles().isEmpty());
    assertEquals(Amount.of(1, Unit.CENTIMETRE), person.items().get("bend"));
  }

  @Test
  void aRaterWithoutANameIsNobody() {
    Person person =
        Person.UNKNOWN
            .measured(bend(1, Unit.DEGREE, ""), List.of())
            .measured(bend(2, Unit.DEGREE, "first"), List.of());
    List<Angle> angles = person.angles().get("bend");
    assertEquals(Optional.empty(), angles.get(0).reading().rater());
    assertEquals(Optional.of("first"), angles.get(1).reading().rater());
  }

  @ParameterizedTest(name = "{0} lists: {1} sources, the first of them number {2}")
  @CsvSource({"31, 31, 1", "32, 32, 1", "33, 32, 2", "40, 32, 9"})
  void theNewestSourcesOfThePersonAreKept(int lists, int kept, int first) {
    Person person = Person.UNKNOWN;
    for (int i = 1; i <= lists; i++) {
      person = person.owning(new Fact.EquipmentListed(START, source(i), Equipment.NONE));
    }
    assertEquals(kept, person.sources().size());
    assertEquals(source(first), person.sources().get(0));
    assertEquals(source(lists), person.sources().get(kept - 1));
  }

  @ParameterizedTest(name = "{0} warnings: {1} sources, the first of them number {2}")
  @CsvSource({"31, 31, 1", "32, 32, 1", "33, 32, 2", "40, 32, 9"})
  void theNewestSourcesOfWarningsAreKept(int warnings, int kept, int first) {
    Control control = Control.FREE;
    for (int i = 1; i <= warnings; i++) {
      control = control.warned(new Fact.WarningRaised(START, source(i), Set.of(Warning.FEVER)));
    }
    assertEquals(Set.of(Warning.FEVER), control.warnings());
    assertEquals(kept, control.sources().size());
    assertEquals(source(first), control.sources().get(0));
    assertEquals(source(warnings), control.sources().get(kept - 1));
  }

  @ParameterizedTest(name = "{0} changes: {1} kept, the first of them number {2}")
  @CsvSource({"63, 63, 1", "64, 64, 1", "65, 64, 2", "70, 64, 7"})
  void theNewestChangesCanBeUndone(int changes, int kept, int first) {
    Standing standing = Standing.NONE;
    for (int i = 1; i <= changes; i++) {
      List<UpwardChange> path = new ArrayList<>(standing.path());
      path.add(new UpwardChange(to(String.valueOf(i)), List.of(), false));
      standing = standing.changed(List.of(), path);
    }
    assertEquals(changes, standing.epoch());
    assertEquals(kept, standing.path().size());
    assertEquals(String.valueOf(first), standing.path().get(0).change().to());
    assertEquals(String.valueOf(changes), standing.path().get(kept - 1).change().to());
  }

  /** What failed needs twice the evidence, up to eight times; nothing else does. */
  @Test
  void aFailedChangeIsRememberedByWhatItIs() {
    Standing standing = Standing.NONE;
    for (int factor : new int[] {2, 4, 8, 8}) {
      standing = standing.failed(to("17 cm"));
      assertEquals(factor, standing.factor(to("17 cm")));
    }
    assertEquals(1, standing.factor(to("9 cm")));
    assertEquals("squat:step-height:17 cm", to("17 cm").key());
  }

  /** A change that has proved itself is remembered as such, and needs half as much next time. */
  @Test
  void aProvenChangeNeedsHalfAsMuchNextTime() {
    UpwardChange step = new UpwardChange(to("17 cm"), List.of(), false);
    Standing standing =
        Standing.NONE
            .failed(to("17 cm"))
            .failed(to("17 cm"))
            .changed(List.of(), List.of(new UpwardChange(to("26 cm"), List.of(), true), step));
    assertTrue(standing.unproven());
    Standing proven = standing.proven();
    assertFalse(proven.unproven());
    assertEquals(2, proven.path().size());
    assertEquals("17 cm", proven.path().get(1).change().to());
    assertEquals(2, proven.factor(to("17 cm")));
    Standing again = proven.proven();
    assertEquals(1, again.factor(to("17 cm")));
    assertTrue(again.factors().isEmpty(), "the usual evidence is not kept");
    assertEquals(1, again.proven().factor(to("17 cm")));
  }

  private static Change to(String value) {
    return new Change(Change.Kind.VARIABLE, "squat", "step-height", "34 cm", value, List.of());
  }
}
