package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.decision.Change;
import org.tidemark.decision.Reason;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Setting;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;

/**
 * The words of a prescription are plain, are the programme's own, and leave nothing out that
 * matters.
 */
class PrescriptionTextTest {

  @ParameterizedTest(name = "{0} × {1}, hold {2} s, time {3} s, {4} a week: {5}")
  @CsvSource(
      delimiter = '|',
      value = {
        "2 | 10 | 0  | 0   | 7  | 2 sets of 10 repetitions, daily",
        "1 | 1  | 0  | 0   | 14 | 1 set of 1 repetition, twice a day",
        "2 | 3  | 20 | 0   | 7  | 2 sets of 3 repetitions, each held 20 s, daily",
        "3 | 0  | 20 | 0   | 21 | 3 holds of 20 s, 3 times a day",
        "1 | 0  | 30 | 0   | 1  | 1 hold of 30 s, once a week",
        "1 | 0  | 0  | 60  | 2  | 60 s, twice a week",
        "2 | 0  | 0  | 90  | 5  | 2 sets of 90 s, 5 times a week",
        "1 | 0  | 0  | 600 | 7  | 10 min, daily",
        "1 | 0  | 0  | 0   | 7  | daily",
        "3 | 0  | 0  | 0   | 10 | 3 sets, 10 times a week",
        "2 | 5  | 0  | 60  | 7  | 2 sets of 5 repetitions within 60 s, daily"
      })
  void saysHowMuchAndHowOften(int sets, int reps, int hold, int time, int week, String words) {
    assertEquals(words, Sample.WORDS.dose(new Dose(sets, reps, hold, time, week)));
  }

  @Test
  void oneLineHoldsWhatSettingDoseAndHowOften() {
    assertEquals(
        "Rocking forward into the full bend: height of the step under the front foot 17.5 cm, "
            + "help of the hands one hand; 2 sets of 10 repetitions, daily",
        Sample.WORDS.line(Sample.STEP));
  }

  @Test
  void aWeightOfNothingIsNotMentionedButTheFloorIs() {
    assertEquals(
        "Height of the step under the front foot: 0 cm.",
        setting(
            Map.of(
                "step-height", Amount.zero(Unit.CENTIMETRE),
                "dumbbell-load", Amount.zero(Unit.KILOGRAM))));
    assertEquals(
        "Dumbbell in each hand: 2.5 kg.",
        setting(Map.of("dumbbell-load", Amount.of("2.5", Unit.KILOGRAM))));
    assertEquals("", setting(Map.of()));
  }

  @Test
  void aVariableThatTheProgrammeDoesNotHaveIsNamedByItsCode() {
    assertEquals(
        "Heel wedge: 0°. Straight leg: yes.",
        setting(Map.of("heel-wedge", Amount.zero(Unit.DEGREE), "straight-leg", YesNo.YES)));
  }

  @Test
  void anExerciseThatTheProgrammeDoesNotHaveIsNamedByItsCode() {
    Prescription other =
        new Prescription("late-stage", "wall-sit", new Setting(Map.of()), Sample.TWO_TENS);
    assertEquals("Wall sit: 2 sets of 10 repetitions, daily", Sample.WORDS.line(other));
    assertEquals("Late stage", Sample.WORDS.stage("late-stage"));
  }

  @ParameterizedTest(name = "{0} {1}, {2} to {3}")
  @CsvSource(
      delimiter = '|',
      value = {
        "VARIABLE | step-height | 24 cm     | 17.5 cm     | height of the step under the front foot from 24 cm to 17.5 cm",
        "VARIABLE | hand-assist | two-hands | one-hand    | help of the hands from two hands to one hand",
        "VARIABLE | bend        | 90 deg    | 95 deg      | bend from 90° to 95°",
        "DOSE     | ''          | 1 × 10    | 2 × 10      | more of it, from 1 × 10 to 2 × 10",
        "UNDONE   | step-height | 17.5 cm   | 24 cm       | height of the step under the front foot back, from 17.5 cm to 24 cm",
        "UNDONE   | ''          | body-weight | unloaded  | back, from “Bending with your own weight” to “Bending without load”",
        "EASED    | hand-assist | one-hand  | two-hands   | help of the hands eased, from one hand to two hands",
        "EASED    | ''          | unloaded  | unloaded    | eased",
        "OVERRIDE | ''          | ''        | step-height 20 cm, hand-assist two-hands, 1 × 8 | set by a clinician, to height of the step under the front foot 20 cm, help of the hands two hands, 1 × 8",
        "UNDONE   | ''          | step-height 20 cm, 1 × 8 | '' | back, no longer height of the step under the front foot 20 cm, 1 × 8"
      })
  void saysWhatChanges(Change.Kind kind, String variable, String from, String to, String words) {
    Change change = new Change(kind, "split-squat-rock", variable, from, to, List.of());
    assertEquals("Rocking forward into the full bend: " + words, Sample.WORDS.change(change));
  }

  @Test
  void namesStagesByTheirTitles() {
    Change stage =
        new Change(Change.Kind.STAGE, "split-squat-rock", "", "unloaded", "body-weight", List.of());
    assertEquals(
        "Next stage: “Bending with your own weight”, after “Bending without load”",
        Sample.WORDS.change(stage));
    Change placed =
        new Change(Change.Kind.PLACED, "split-squat-rock", "", "", "unloaded", List.of());
    assertEquals(
        "First exercises: “Bending without load”, beginning with rocking forward into the full bend",
        Sample.WORDS.change(placed));
  }

  @Test
  void saysWhatIsMadeEasierWithAStep() {
    Change bridged =
        new Change(
            Change.Kind.VARIABLE,
            "split-squat-rock",
            "step-height",
            "36 cm",
            "18 cm",
            List.of("hand-assist"));
    assertEquals(
        "Rocking forward into the full bend: height of the step under the front foot from 36 cm to "
            + "18 cm; made easier with it: help of the hands",
        Sample.WORDS.change(bridged));
  }

  @Test
  void saysWhatWasNotTakenAndWhichPieceWouldOpenTheWay() {
    var weighed =
        new Change.Considered(
            Sample.LOWER,
            Reason.STEP_TOO_BIG,
            Optional.of(new Change.Piece("book", Amount.of(5, Unit.CENTIMETRE))),
            Optional.empty());
    assertEquals(
        "Rocking forward into the full bend: height of the step under the front foot from 24 cm to "
            + "17.5 cm. The smallest step that can be made is too big to take alone. "
            + "A book of 5 cm would open the way.",
        Sample.WORDS.considered(weighed));
  }

  @Test
  void saysValuesWithTheirUnits() {
    assertEquals("10 min", Sample.TEXTS.value(Amount.of(10, Unit.MINUTE)));
    assertEquals("3", Sample.TEXTS.value(Amount.of(3, Unit.SCORE)));
    assertEquals("toes tucked", Sample.TEXTS.value(new Grade("toes-tucked")));
    assertEquals("no", Sample.TEXTS.value(YesNo.NO));
  }

  private static String setting(Map<String, Value> values) {
    return Sample.WORDS.setting(
        new Prescription("body-weight", "split-squat-rock", new Setting(values), Sample.TWO_TENS));
  }
}
