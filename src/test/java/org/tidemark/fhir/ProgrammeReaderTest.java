package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.math.BigDecimal;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.junit.jupiter.api.Test;
import org.tidemark.programme.Condition;
import org.tidemark.programme.Direction;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Equipment;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.programme.Placement;
import org.tidemark.programme.PlateauOption;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Side;
import org.tidemark.programme.Source;
import org.tidemark.programme.Stage;
import org.tidemark.programme.StartRule;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;

/** The two programmes that ship, read into what the decision works with. */
class ProgrammeReaderTest {
  private static final Programme KNEE =
      ProgrammeReader.read(ProfileFiles.plan("knee-deep-flexion"), ProfileFiles::byCanonical);
  private static final Programme HEEL =
      ProgrammeReader.read(ProfileFiles.plan("standing-heel-raise"), ProfileFiles::byCanonical);
  private static final Amount FULL_BEND = Amount.of(140, Unit.DEGREE);
  private static final Source TOWELS =
      new Source.Stack(List.of("towel-roll"), Amount.of(40, Unit.CENTIMETRE));

  @Test
  void theKneeProgrammeIsNamedByAddressAndVersion() {
    assertEquals(
        "https://tidemark.example/fhir/PlanDefinition/knee-deep-flexion|1.0.0",
        KNEE.id().canonical());
    assertEquals(Set.of("72696002", "49076000", "6757004", "82169009"), KNEE.bodyRegions());
    assertEquals(3, KNEE.maintenancePerWeek());
  }

  @Test
  void nobodyIsPlacedWithoutFlexionGapOrContactPainAndKneeling() {
    assertEquals(
        List.of(
            List.of("comfortable-flexion"),
            List.of("gap", "contact"),
            List.of("pain-at-rest"),
            List.of("can-kneel")),
        KNEE.needs());
  }

  @Test
  void placementsComeInTheOrderOfTheProgramme() {
    Condition beyond = new Condition.BeyondReach("gap", TOWELS);
    Condition stiff = new Condition.Below("comfortable-flexion", Amount.of(90, Unit.DEGREE));
    Condition cycle = new Condition.Owns("stationary-cycle");
    Condition quiet = new Condition.AtMost("pain-at-rest", Amount.zero(Unit.SCORE));
    Condition stands = new Condition.Is("can-stand-on-one-leg", YesNo.YES);
    Condition support = new Condition.Owns("hand-support");
    assertEquals(
        List.of(
            new Placement(Optional.of("preparatory"), List.of(beyond, cycle)),
            new Placement(Optional.of("preparatory"), List.of(stiff, cycle)),
            new Placement(Optional.empty(), List.of(beyond)),
            new Placement(Optional.empty(), List.of(stiff)),
            new Placement(
                Optional.of("body-weight"),
                List.of(new Condition.Is("contact", YesNo.YES), quiet, stands, support)),
            new Placement(
                Optional.of("body-weight"),
                List.of(
                    new Condition.AtMost("gap", Amount.zero(Unit.CENTIMETRE)),
                    quiet,
                    stands,
                    support)),
            new Placement(Optional.of("unloaded"), List.of())),
        KNEE.placements());
  }

  @Test
  void stagesFollowEachOtherAndNothingFollowsTheLoadedOne() {
    assertEquals(
        List.of("preparatory", "unloaded", "body-weight", "loaded"),
        KNEE.stages().stream().map(Stage::code).toList());
    assertEquals(Optional.empty(), KNEE.stageAfter("loaded"));
    assertEquals(
        List.of("0.4", "0.4", "0.25", "0.2"),
        KNEE.stages().stream()
            .map(s -> s.toleratedRate().stripTrailingZeros().toPlainString())
            .toList());
    assertEquals(
        List.of(new Condition.AtLeast("comfortable-flexion", Amount.of(90, Unit.DEGREE))),
        KNEE.stage("unloaded").orElseThrow().conditions());
    assertEquals(
        List.of(new Condition.Is("can-stand-on-one-leg", YesNo.YES)),
        KNEE.stage("body-weight").orElseThrow().conditions());
    assertEquals(
        List.of(new Condition.Owns("dumbbell-pair")),
        KNEE.stage("loaded").orElseThrow().conditions());
  }

  @Test
  void whoeverKneelsRocksBackAndOthersSitBackOnABench() {
    Exercise rockBack = KNEE.exercise("unloaded", "quadruped-rock-back").orElseThrow();
    Exercise sitBack = KNEE.exercise("unloaded", "bench-kneeling-sit-back").orElseThrow();
    Exercise stretch = KNEE.exercise("unloaded", "towel-flexion-stretch").orElseThrow();
    assertEquals(Exercise.Role.LEAD, rockBack.role());
    assertEquals(List.of(new Condition.Is("can-kneel", YesNo.YES)), rockBack.conditions());
    assertEquals(Exercise.Role.LEAD, sitBack.role());
    assertEquals(List.of(new Condition.Is("can-kneel", YesNo.NO)), sitBack.conditions());
    assertEquals(Exercise.Role.COMPANION, stretch.role());
    assertEquals(
        Map.of(
            "towel-thickness", new StartRule.LeastCovering("gap"),
            "toe-position", new StartRule.At(new Grade("tucked")),
            "hand-assist", new StartRule.At(new Grade("two-hands"))),
        rockBack.start());
    assertEquals(List.of("towel-thickness", "toe-position", "hand-assist"), rockBack.progresses());
  }

  @Test
  void theSplitSquatProgressesByStepThenHandsAndLaterByLoadThenHeel() {
    Exercise bodyWeight = KNEE.exercise("body-weight", "split-squat-rock").orElseThrow();
    Exercise loaded = KNEE.exercise("loaded", "split-squat-rock").orElseThrow();
    assertEquals(bodyWeight.variation(), loaded.variation());
    assertEquals(List.of("step-height", "hand-assist"), bodyWeight.progresses());
    assertEquals(List.of("dumbbell-load", "heel-position"), loaded.progresses());
    assertEquals(
        new StartRule.GreatestNotAbove(Amount.of(36, Unit.CENTIMETRE)),
        bodyWeight.start().get("step-height"));
    assertEquals(
        Map.of(
            "step-height", new StartRule.Kept(),
            "hand-assist", new StartRule.Kept(),
            "dumbbell-load", new StartRule.LeastAboveZero(),
            "heel-position", new StartRule.Kept()),
        loaded.start());
    assertEquals(
        new Dose(1, 10, 0, 0, 7),
        bodyWeight.variation().ladder().steps().get(bodyWeight.startDose()));
    assertEquals(
        new Dose(2, 10, 0, 0, 7), loaded.variation().ladder().steps().get(loaded.startDose()));
  }

  @Test
  void theVariablesOfTheSplitSquatAreReadWhole() {
    Variation squat = KNEE.variation("split-squat-rock").orElseThrow();
    assertTrue(squat.loadBearing());
    assertTrue(squat.contactAsked());
    assertEquals(Map.of("knee-flexion", FULL_BEND), squat.reach());
    assertEquals(
        List.of(
            new ProgressionVariable(
                "step-height",
                "Height of the step under the front foot",
                Direction.DECREASE,
                new Source.Stairs(
                    "stair-riser",
                    "stair-count",
                    List.of("book", "block"),
                    Amount.of(60, Unit.CENTIMETRE)),
                Optional.of(Amount.zero(Unit.CENTIMETRE)),
                Optional.empty(),
                Optional.empty(),
                BigDecimal.ZERO,
                List.of()),
            new ProgressionVariable(
                "hand-assist",
                "Help of the hands",
                Direction.DECREASE,
                new Source.Grades(
                    List.of(
                        new Grade("two-hands"),
                        new Grade("one-hand"),
                        new Grade("fingertips"),
                        new Grade("none")),
                    Optional.of("hand-support")),
                Optional.empty(),
                Optional.empty(),
                Optional.of(new BigDecimal("1.5")),
                BigDecimal.ZERO,
                List.of()),
            new ProgressionVariable(
                "dumbbell-load",
                "Dumbbell in each hand",
                Direction.INCREASE,
                new Source.OneOf("dumbbell-pair", Unit.KILOGRAM, true),
                Optional.of(Amount.of(10, Unit.KILOGRAM)),
                Optional.empty(),
                Optional.empty(),
                BigDecimal.valueOf(2),
                List.of()),
            new ProgressionVariable(
                "heel-position",
                "Front heel",
                Direction.DECREASE,
                new Source.Grades(
                    List.of(new Grade("raised"), new Grade("flat")), Optional.empty()),
                Optional.empty(),
                Optional.empty(),
                Optional.empty(),
                BigDecimal.ZERO,
                List.of(
                    new Condition.AtLeast("wall-lunge-distance", Amount.of(9, Unit.CENTIMETRE))))),
        squat.variables());
  }

  @Test
  void everyVariationOfTheProgrammeIsThere() {
    assertEquals(
        List.of(
            "recumbent-cycling",
            "quadruped-rock-back",
            "bench-kneeling-sit-back",
            "towel-flexion-stretch",
            "split-squat-rock",
            "split-squat-rock",
            "slant-board-squat",
            "wall-quadriceps-stretch"),
        KNEE.stages().stream()
            .flatMap(s -> s.exercises().stream())
            .map(e -> e.variation().code())
            .toList());
    assertEquals(
        Optional.of(Amount.of(110, Unit.DEGREE)),
        KNEE.variation("recumbent-cycling").map(v -> v.reach().get("knee-flexion")));
    assertEquals(
        List.of("split-squat-rock", "slant-board-squat"),
        KNEE.stages().stream()
            .flatMap(s -> s.exercises().stream())
            .map(Exercise::variation)
            .filter(Variation::loadBearing)
            .map(Variation::code)
            .distinct()
            .toList());
  }

  /** 10–30 s a hold and 60 s in total: ACSM, Garber 2011, MSSE 43:1334–59. */
  @Test
  void holdsLastTenToThirtySecondsAndTheBaseIsSixtyInTotal() {
    List<Variation> held =
        KNEE.stages().stream()
            .flatMap(s -> s.exercises().stream())
            .map(Exercise::variation)
            .filter(v -> v.ladder().baseDose().holdSeconds() > 0)
            .toList();
    assertEquals(
        List.of("bench-kneeling-sit-back", "towel-flexion-stretch", "wall-quadriceps-stretch"),
        held.stream().map(Variation::code).toList());
    for (Variation variation : held) {
      assertEquals(60, variation.ladder().baseDose().volume(), variation.code());
      assertTrue(
          variation.ladder().steps().stream()
              .allMatch(d -> d.holdSeconds() >= 10 && d.holdSeconds() <= 30),
          variation.code());
    }
  }

  private static GoalDefinition.Task task(long degrees, String title) {
    return new GoalDefinition.Task(Amount.of(degrees, Unit.DEGREE), title);
  }

  @Test
  void goalsAreAPersonalRangeTheFloorAndALoad() {
    assertEquals(
        List.of(
            new GoalDefinition(
                "range",
                "Bend the knee to a personal goal",
                "comfortable-flexion",
                GoalDefinition.Kind.BODY,
                Optional.empty(),
                Optional.of("other-side-flexion"),
                Optional.of("thigh-calf-contact"),
                List.of(
                    task(90, "going down stairs"),
                    task(110, "sitting down on a chair and standing up from it"),
                    task(135, "getting in and out of a bath")),
                Direction.INCREASE),
            new GoalDefinition(
                "floor",
                "Rock into the full bend with the front foot on the floor",
                "step-height",
                GoalDefinition.Kind.SETTING,
                Optional.of(Amount.zero(Unit.CENTIMETRE)),
                Optional.empty(),
                Optional.empty(),
                List.of(),
                Direction.DECREASE),
            new GoalDefinition(
                "load",
                "Do it with 10 kg in each hand",
                "dumbbell-load",
                GoalDefinition.Kind.SETTING,
                Optional.of(Amount.of(10, Unit.KILOGRAM)),
                Optional.empty(),
                Optional.empty(),
                List.of(),
                Direction.INCREASE)),
        KNEE.goals());
  }

  @Test
  void atAStallALightLoadComesFirstAndWaitingLast() {
    assertEquals(
        List.of("small-load", "slant-board", "wall-stretch", "dwell"),
        KNEE.plateauOptions().stream().map(PlateauOption::code).toList());
    assertEquals(
        List.of("split-squat-rock", "slant-board-squat", "wall-quadriceps-stretch", ""),
        KNEE.plateauOptions().stream().map(PlateauOption::variation).toList());
  }

  @Test
  void openCodesForFlexionNameTheirSide() {
    assertEquals(
        List.of(
            new Reading(
                "comfortable-flexion", "http://loinc.org", "41347-6", Optional.of(Side.RIGHT)),
            new Reading(
                "comfortable-flexion", "http://loinc.org", "41343-5", Optional.of(Side.LEFT))),
        ProgrammeReader.readings(ProfileFiles.plan("knee-deep-flexion")));
    assertEquals(List.of(), ProgrammeReader.readings(ProfileFiles.plan("standing-heel-raise")));
  }

  @Test
  void theHeelRaiseGoesFromTwoLegsToOneToAStepToDumbbells() {
    assertEquals(
        List.of("body-weight", "loaded"), HEEL.stages().stream().map(Stage::code).toList());
    Exercise first = HEEL.exercise("body-weight", "standing-heel-raise").orElseThrow();
    Exercise second = HEEL.exercise("loaded", "standing-heel-raise").orElseThrow();
    assertEquals(List.of("legs-used", "drop-height", "hand-assist"), first.progresses());
    assertEquals(List.of("dumbbell-load"), second.progresses());
    assertEquals(Set.of("344001"), HEEL.bodyRegions());
    ProgressionVariable legs = first.variation().variable("legs-used").orElseThrow();
    assertEquals(
        List.of(new Grade("two-legs"), new Grade("one-leg")), legs.fromEasiest(Equipment.NONE));
    assertEquals(List.of(new Condition.Is("can-stand-on-one-leg", YesNo.YES)), legs.requires());
    assertEquals(Optional.of((Value) new Grade("one-leg")), HEEL.goals().get(0).target());
    assertEquals(3, first.variation().ladder().baseDose().timesPerWeek());
    assertFalse(first.variation().contactAsked());
  }
}
