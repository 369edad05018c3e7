package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.tidemark.fhir.Complaints.assertRefused;
import static org.tidemark.fhir.Reports.quantity;

import java.math.BigDecimal;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.PositiveIntType;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Timing;
import org.hl7.fhir.r4.model.Timing.TimingRepeatComponent;
import org.hl7.fhir.r4.model.Timing.UnitsOfTime;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.programme.Direction;
import org.tidemark.programme.Dose;
import org.tidemark.programme.DoseLadder;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgrammeId;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Source;
import org.tidemark.programme.Stage;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;

class PrescriptionReaderTest {
  private static final Programme PROGRAMME = programme();

  private static Programme programme() {
    ProgressionVariable step =
        variable(
            "step-height",
            Direction.DECREASE,
            new Source.Stairs(
                "stair-riser", "stair-count", List.of("book"), Amount.of(60, Unit.CENTIMETRE)));
    ProgressionVariable assist =
        variable(
            "hand-assist",
            Direction.INCREASE,
            new Source.Grades(
                List.of(new Grade("two-hands"), new Grade("one-hand")), Optional.empty()));
    Variation rock =
        new Variation(
            "step-rock",
            "Rock on the step",
            "Rock forward and back.",
            true,
            true,
            Map.of("knee-flexion", Amount.of(140, Unit.DEGREE)),
            List.of(step, assist),
            new DoseLadder(List.of(new Dose(1, 10, 0, 0, 7), new Dose(2, 10, 0, 0, 7)), 0),
            Optional.empty());
    Stage stage =
        new Stage(
            "body-weight",
            "Body weight",
            new BigDecimal("0.2"),
            List.of(),
            List.of(
                new Exercise(
                    rock, Exercise.Role.LEAD, List.of(), Map.of(), 0, List.of("step-height"))));
    return new Programme(
        new ProgrammeId("https://clinic.example/PlanDefinition/rock", "1.0.0"),
        "Rocking",
        Set.of("72696002"),
        List.of(),
        List.of(),
        List.of(stage),
        List.of(),
        List.of(),
        2,
        Programme.USUAL_DEMAND_CAP,
        Programme.USUAL_ADHERENCE);
  }

  private static ProgressionVariable variable(String code, Direction harder, Source source) {
    return new ProgressionVariable(
        code,
        code,
        harder,
        source,
        Optional.empty(),
        Optional.empty(),
        Optional.empty(),
        BigDecimal.ZERO,
        List.of());
  }

  private static ServiceRequest sample() {
    return Reports.sample(ServiceRequest.class, "prescription");
  }

  private static Prescription read(ServiceRequest request) {
    return PrescriptionReader.read(request, PROGRAMME, Optional.empty());
  }

  private static Extension step(ServiceRequest request) {
    return request.getExtension().get(1);
  }

  private static Extension assist(ServiceRequest request) {
    return request.getExtension().get(2);
  }

  private static Extension dose(ServiceRequest request) {
    return request.getExtensionByUrl(Codes.DOSE);
  }

  @Test
  void readsTheShapeThatClientsSend() {
    assertEquals(
        new Prescription(
            "body-weight",
            "step-rock",
            new Setting(
                Map.of(
                    "step-height",
                    Amount.of("35.56", Unit.CENTIMETRE),
                    "hand-assist",
                    new Grade("one-hand"))),
            new Dose(2, 10, 5, 0, 7)),
        read(sample()));
  }

  @Test
  void theMeasuresOfAProgrammeHaveItsUnits() {
    assertEquals(
        Map.of("step-height", Unit.CENTIMETRE, "knee-flexion", Unit.DEGREE),
        Measures.of(List.of(PROGRAMME)).units());
  }

  @Test
  void namesEveryFaultOfASettingByItsElement() {
    ServiceRequest unit = sample();
    step(unit).getExtensionByUrl("value").setValue(quantity("14", "kg"));
    assertRefused(
        () -> read(unit), "WRONG_UNIT ServiceRequest.extension[1].extension[1].value.code");
    ServiceRequest below = sample();
    step(below).getExtensionByUrl("value").setValue(quantity("-1", "cm"));
    assertRefused(() -> read(below), "OUT_OF_RANGE ServiceRequest.extension[1].extension[1].value");
    ServiceRequest variable = sample();
    step(variable).getExtensionByUrl("variable").setValue(new CodeType("board-angle"));
    assertRefused(
        () -> read(variable), "UNSUPPORTED ServiceRequest.extension[1].extension[0].value");
    ServiceRequest grade = sample();
    assist(grade).getExtensionByUrl("value").setValue(new CodeType("elbows"));
    assertRefused(() -> read(grade), "UNSUPPORTED ServiceRequest.extension[2].extension[1].value");
    ServiceRequest code = sample();
    step(code).getExtensionByUrl("value").setValue(new CodeType("low"));
    assertRefused(() -> read(code), "UNSUPPORTED ServiceRequest.extension[1].extension[1].value");
    ServiceRequest none = sample();
    step(none).removeExtension("value");
    assertRefused(() -> read(none), "MISSING ServiceRequest.extension[1].extension('value')");
    ServiceRequest twice = sample();
    twice.addExtension(step(twice).copy());
    assertRefused(() -> read(twice), "BUSINESS_RULE ServiceRequest.extension[4]");
  }

  @Test
  void aSettingNoBodyCanBePutToIsASlip() {
    ServiceRequest most = sample();
    step(most).getExtensionByUrl("value").setValue(quantity("200", "cm"));
    assertEquals(Amount.of(200, Unit.CENTIMETRE), read(most).setting().get("step-height"));
    ServiceRequest above = sample();
    step(above).getExtensionByUrl("value").setValue(quantity("200.1", "cm"));
    assertRefused(() -> read(above), "OUT_OF_RANGE ServiceRequest.extension[1].extension[1].value");
  }

  @Test
  void aSettingThatStoodMustBeSetAgain() {
    ServiceRequest request = sample();
    request.getExtension().remove(2);
    Prescription standing = read(sample());
    assertEquals(1, read(request).setting().values().size());
    assertRefused(
        () -> PrescriptionReader.read(request, PROGRAMME, Optional.of(standing)),
        "MISSING ServiceRequest.extension('"
            + "https://tidemark.example/fhir/StructureDefinition/setting')");
  }

  @Test
  void namesAnUnknownStageOrExercise() {
    ServiceRequest stage = sample();
    stage.getExtension().get(0).setValue(new CodeType("heavenly"));
    assertRefused(() -> read(stage), "UNSUPPORTED ServiceRequest.extension[0].value");
    ServiceRequest exercise = sample();
    exercise.getCode().getCoding().get(0).setCode("handstand");
    assertRefused(() -> read(exercise), "UNSUPPORTED ServiceRequest.code");
    ServiceRequest nothing = new ServiceRequest();
    assertRefused(
        () -> read(nothing),
        "MISSING ServiceRequest.extension('"
            + "https://tidemark.example/fhir/StructureDefinition/stage')",
        "MISSING ServiceRequest.code",
        "MISSING ServiceRequest.extension('"
            + "https://tidemark.example/fhir/StructureDefinition/dose')");
  }

  @ParameterizedTest(name = "{0} {1}: taken {2}")
  @CsvSource({
    "sets, 1, true",
    "sets, 20, true",
    "sets, 0, false",
    "sets, 21, false",
    "repetitions, 500, true",
    "repetitions, 501, false",
    "repetitions, -1, false"
  })
  void countsWithinTheirLimits(String part, int number, boolean taken) {
    ServiceRequest request = sample();
    dose(request).getExtensionByUrl(part).setValue(new org.hl7.fhir.r4.model.IntegerType(number));
    if (taken) {
      read(request);
    } else {
      int index = part.equals("sets") ? 0 : 1;
      assertRefused(
          () -> read(request),
          "OUT_OF_RANGE ServiceRequest.extension[3].extension[" + index + "].value");
    }
  }

  @Test
  void timesMayComeInMinutes() {
    ServiceRequest request = sample();
    dose(request).getExtensionByUrl("hold").setUrl("time").setValue(quantity("1.5", "min"));
    dose(request).removeExtension("repetitions");
    assertEquals(new Dose(2, 0, 0, 90, 7), read(request).dose());
    dose(request).getExtensionByUrl("time").setValue(quantity("5", "h"));
    assertRefused(
        () -> read(request), "OUT_OF_RANGE ServiceRequest.extension[3].extension[1].value");
    dose(request).removeExtension("time");
    assertRefused(() -> read(request), "MISSING ServiceRequest.extension[3]");
    dose(request).getExtension().clear();
    dose(request).addExtension("repetitions", new PositiveIntType(5));
    assertRefused(() -> read(request), "MISSING ServiceRequest.extension[3].extension('sets')");
  }

  @ParameterizedTest(name = "{0} in {1} {2} is {3} a week")
  @CsvSource({
    "1, 1, D, 7",
    "3, 1, D, 21",
    "1, 2, D, 3",
    "3, 1, WK, 3",
    "21, 1, WK, 21",
    "1, 7, D, 1"
  })
  void countsTheSessionsOfAWeek(int frequency, String period, UnitsOfTime unit, int perWeek) {
    assertEquals(perWeek, read(timed(frequency, period, unit)).dose().timesPerWeek());
  }

  @ParameterizedTest(name = "{0} in {1} {2}: {3}")
  @CsvSource({
    "4, 1, D, OUT_OF_RANGE ServiceRequest.occurrence.repeat",
    "22, 1, WK, OUT_OF_RANGE ServiceRequest.occurrence.repeat",
    "1, 2, WK, OUT_OF_RANGE ServiceRequest.occurrence.repeat",
    "1, 0, D, OUT_OF_RANGE ServiceRequest.occurrence.repeat.period",
    "1, 1, H, UNSUPPORTED ServiceRequest.occurrence.repeat.periodUnit"
  })
  void refusesWhatIsNoRhythmOfAWeek(
      int frequency, String period, UnitsOfTime unit, String complaint) {
    assertRefused(() -> read(timed(frequency, period, unit)), complaint);
  }

  @Test
  void needsToKnowHowOften() {
    ServiceRequest request = sample();
    request.setOccurrence(null);
    assertRefused(() -> read(request), "MISSING ServiceRequest.occurrence");
  }

  private static ServiceRequest timed(int frequency, String period, UnitsOfTime unit) {
    ServiceRequest request = sample();
    request.setOccurrence(
        new Timing()
            .setRepeat(
                new TimingRepeatComponent()
                    .setFrequency(frequency)
                    .setPeriod(new BigDecimal(period))
                    .setPeriodUnit(unit)));
    return request;
  }

  @Test
  void aSessionChangesWhatItSaysAndNothingElse() {
    Prescription asked = read(sample());
    Setting done = new Setting(Map.of("step-height", Amount.of(40, Unit.CENTIMETRE)));
    assertEquals(
        new Prescription(
            asked.stage(),
            asked.variation(),
            asked.setting().with("step-height", Amount.of(40, Unit.CENTIMETRE)),
            asked.dose()),
        PrescriptionReader.done(asked, done, PROGRAMME));
  }

  @ParameterizedTest
  @ValueSource(strings = {"step-height", "board-angle"})
  void aSessionCannotBeDoneAtWhatTheExerciseDoesNotHave(String code) {
    Setting done = new Setting(Map.of(code, new Grade("low")));
    assertRefused(
        () -> PrescriptionReader.done(read(sample()), done, PROGRAMME),
        "UNSUPPORTED Observation.component.where(code.coding.code='" + code + "').value");
  }
}
