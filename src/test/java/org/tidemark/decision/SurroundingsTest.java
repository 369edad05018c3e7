package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Stage;
import org.tidemark.programme.Variation;

/** What bounds a choice: what can be made, what the limits leave, and how a stage begins. */
class SurroundingsTest {
  private static final String SQUAT = "split-squat-rock";

  private static Surroundings around(Story story) {
    return new Surroundings(story.programme, story.state.person(), story.noon());
  }

  private static Surroundings limited(Story story, String measure, String least, String most) {
    return around(story.limited(Precaution.Scope.ALL, measure, least, most));
  }

  private static Optional<String> inside(Surroundings around, Setting setting, String variable) {
    Variation squat = around.programme().variation(SQUAT).orElseThrow();
    return around.inside(squat, setting).map(moved -> Change.text(moved.get(variable)));
  }

  private static Setting setting(Story story, String... values) {
    Setting setting = story.prescription(SQUAT).setting();
    for (int i = 0; i < values.length; i += 2) {
      setting = setting.with(values[i], Story.value(values[i + 1]));
    }
    return setting;
  }

  /** Stairs of 17 cm and a book of 9: 0, 9, 17, 26, 34, 43, 51; a lower step is harder. */
  @ParameterizedTest(name = "step of 9 cm, at least {0} cm: {1}")
  @CsvSource({"9, 9 cm", "9.5, 17 cm", "17, 17 cm", "17.5, 26 cm"})
  void aLimitIsKeptByTheNearestEasierSetting(String least, String expected) {
    Story story = Story.bendingKnee().begins();
    Surroundings around = limited(story, "step-height", least + " cm", "");
    Setting low = setting(story, "step-height", "9 cm");
    assertEquals(Optional.of(expected), inside(around, low, "step-height"));
  }

  /** Nothing is made harder for the sake of a limit. */
  @Test
  void aLimitThatOnlySomethingHarderWouldKeepIsKeptByNothing() {
    Story story = Story.bendingKnee().begins();
    Setting high = setting(story);
    Surroundings around = limited(story, "step-height", "", "30 cm");
    assertEquals(Optional.empty(), inside(around, high, "step-height"));
  }

  /** What the limit is not about stays as it is. */
  @Test
  void onlyWhatIsLimitedMoves() {
    Story story = Story.bendingKnee().begins();
    Surroundings around = limited(story, "dumbbell-load", "", "1 kg");
    Setting loaded = setting(story, "step-height", "9 cm", "dumbbell-load", "2 kg");
    assertEquals(Optional.of("1 kg"), inside(around, loaded, "dumbbell-load"));
    assertEquals(Optional.of("9 cm"), inside(around, loaded, "step-height"));
  }

  @Test
  void twoLimitsAreBothKept() {
    Story story = Story.bendingKnee().begins();
    story.limited(Precaution.Scope.ALL, "step-height", "20 cm", "");
    Surroundings around = limited(story, "dumbbell-load", "", "0 kg");
    Setting loaded = setting(story, "step-height", "9 cm", "dumbbell-load", "2 kg");
    assertEquals(Optional.of("26 cm"), inside(around, loaded, "step-height"));
    assertEquals(Optional.of("0 kg"), inside(around, loaded, "dumbbell-load"));
  }

  @Test
  void aLimitOnWhatTheExerciseDoesToTheBodyIsKeptByNoSetting() {
    Story story = Story.bendingKnee().begins();
    Setting high = setting(story);
    Surroundings around = limited(story, "knee-flexion", "", "139 deg");
    assertEquals(Optional.empty(), inside(around, high, "step-height"));
  }

  /** The nearest feasible values on both sides, never the value itself. */
  @ParameterizedTest(name = "from {0} cm: easier {1}, harder {2}")
  @CsvSource({
    "0, 9 cm, none",
    "9, 17 cm, 0 cm",
    "10, 17 cm, 9 cm",
    "17, 26 cm, 9 cm",
    "300, none, 221 cm"
  })
  void theNextValueOnEitherSide(String centimetres, String easier, String harder) {
    Surroundings around = around(Story.bendingKnee().begins());
    var variable =
        around.programme().variation(SQUAT).orElseThrow().variable("step-height").orElseThrow();
    var value = Story.value(centimetres + " cm");
    assertEquals(easier, around.easier(variable, value).map(Change::text).orElse("none"));
    assertEquals(
        harder.equals("none"),
        around.harder(variable, value).isEmpty(),
        "something harder is left");
    if (!centimetres.equals("300")) {
      assertEquals(harder, around.harder(variable, value).map(Change::text).orElse("none"));
    }
  }

  /** A stage that keeps a setting takes it from the same exercise, whatever stands before it. */
  @Test
  void aStageKeepsWhatTheSameExerciseWasSetTo() {
    Story rocking = Story.knee().begins();
    Story squatting = Story.bendingKnee().begins();
    Surroundings around = around(squatting);
    Stage loaded = around.programme().stage("loaded").orElseThrow();
    Exercise lead = loaded.exercises().get(0);
    Line other = rocking.state.standing().lines().get(0);
    Prescription asked = squatting.prescription(SQUAT);
    Line squat =
        Line.begin(
            new Prescription(
                asked.stage(),
                SQUAT,
                setting(squatting, "step-height", "17 cm", "hand-assist", "fingertips"),
                asked.dose()),
            Exercise.Role.LEAD,
            squatting.noon());
    assertTrue(other.prescription().setting().get("hand-assist") != null, "it has hands too");
    Line begun = around.begin(loaded, lead, List.of(other, squat)).orElseThrow();
    Setting kept = begun.prescription().setting();
    assertEquals("17 cm", Change.text(kept.get("step-height")));
    assertEquals("fingertips", Change.text(kept.get("hand-assist")));
    assertEquals("1 kg", Change.text(kept.get("dumbbell-load")));
  }

  /** With nothing before to keep, it begins at the easiest. */
  @Test
  void aStageWithNothingToKeepBeginsAtTheEasiest() {
    Surroundings around = around(Story.bendingKnee().begins());
    Stage loaded = around.programme().stage("loaded").orElseThrow();
    Line begun = around.begin(loaded, loaded.exercises().get(0), List.of()).orElseThrow();
    assertEquals("two-hands", Change.text(begun.prescription().setting().get("hand-assist")));
    assertEquals("raised", Change.text(begun.prescription().setting().get("heel-position")));
  }

  @Test
  void aPrescriptionOfAnotherProgrammeIsAnError() {
    Surroundings around = around(Story.bendingKnee().begins());
    Setting nothing = new Setting(Map.of());
    Dose dose = new Dose(1, 1, 0, 0, 7);
    Prescription noStage = new Prescription("juggling", SQUAT, nothing, dose);
    Prescription noExercise = new Prescription("body-weight", "juggling", nothing, dose);
    assertThrows(IllegalStateException.class, () -> around.stage(noStage));
    assertThrows(IllegalStateException.class, () -> around.exercise(noStage));
    assertThrows(IllegalStateException.class, () -> around.exercise(noExercise));
  }
}
