package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.time.OffsetDateTime;
import java.util.Objects;
import java.util.Optional;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.DateType;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.Range;
import org.hl7.fhir.r4.model.StringType;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.decision.GoalReading;
import org.tidemark.decision.RangeFigures;
import org.tidemark.programme.Direction;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;
import org.tidemark.trend.MeasuringMethod;
import org.tidemark.trend.Reading;

class GoalWriterTest {
  private static final GoalDefinition RANGE =
      Sample.goal(GoalDefinition.Kind.BODY, "comfortable-flexion", Direction.INCREASE);
  private static final GoalDefinition GAP =
      Sample.goal(GoalDefinition.Kind.BODY, "gap", Direction.DECREASE);
  private static final GoalDefinition STEP =
      Sample.goal(GoalDefinition.Kind.SETTING, "step-height", Direction.DECREASE);

  /** MDC95 of two readings by goniometer is 1.96·√2·3.5° = 9.702°. */
  @ParameterizedTest(name = "from {0}° to {1}°: {2}")
  @CsvSource({
    "118, 127.70, in-progress",
    "118, 127.71, improving",
    "130, 118, in-progress",
    "118, 118, in-progress"
  })
  void improvingOnlyBeyondWhatMeasuringAloneCanMake(String first, String now, String achievement) {
    assertEquals(achievement, achievement(write(range(first, now, "146", false))));
  }

  @Test
  void withoutAKnownErrorOfMeasurementNothingIsImproving() {
    Goal gap =
        write(
            new GoalReading(
                GAP, fixed(Amount.zero(Unit.CENTIMETRE)), some(cm(9)), some(cm(1)), false));
    assertEquals("in-progress", achievement(gap));
  }

  @Test
  void aSettingIsNeverImprovingByMeasurement() {
    Goal step = write(new GoalReading(STEP, fixed(cm(0)), Optional.empty(), some(cm(18)), false));
    assertEquals("in-progress", achievement(step));
  }

  @Test
  void case76AchievedOnTheDaySustainingOnALaterOne() {
    GoalReading met = range("118", "146", "146", true);
    Goal first = write(met, Optional.empty(), "2026-05-04T07:30:00+02:00");
    assertEquals("achieved", achievement(first));
    assertEquals("2026-05-04", first.getStatusDateElement().getValueAsString());
    Goal sameDay = write(met, Optional.of(first), "2026-05-04T21:00:00+02:00");
    assertTrue(sameDay.equalsDeep(first));
    Goal nextDay = write(met, Optional.of(first), "2026-05-05T07:30:00+02:00");
    assertEquals("sustaining", achievement(nextDay));
    assertEquals("2026-05-05", nextDay.getStatusDateElement().getValueAsString());
    Goal later = write(met, Optional.of(nextDay), "2026-06-05T07:30:00+02:00");
    assertTrue(later.equalsDeep(nextDay));
  }

  @Test
  void whatIsLostAgainIsNoLongerAchieved() {
    Goal achieved = write(range("118", "146", "146", true));
    Goal lost =
        write(range("118", "140", "146", false), Optional.of(achieved), "2026-05-09T08:00:00Z");
    assertEquals("improving", achievement(lost));
    assertEquals("2026-05-09", lost.getStatusDateElement().getValueAsString());
    assertEquals("2026-05-04", lost.getStartDateType().getValueAsString());
  }

  @Test
  void whatSomeoneElseHasSaidInAGoalStays() {
    Goal own = new Goal();
    own.setDescription(new CodeableConcept().setText("Sit on her heels in the garden"));
    own.addExtension(Codes.SIDE, new CodeType("right"));
    own.addExtension(Codes.SIDE, new CodeType("right"));
    own.addTarget()
        .setMeasure(
            Codes.concept(Codes.LOINC, "41347-6", null)
                .addCoding(
                    Codes.concept(Codes.REPORT_ITEM, "comfortable-flexion", null)
                        .getCodingFirstRep()));
    Goal goal = write(range("118", "120", "146", false), Optional.of(own), "2026-05-04T08:00:00Z");
    assertEquals("Sit on her heels in the garden", goal.getDescription().getText());
    assertTrue(goal.getText().getDivAsString().contains("Sit on her heels in the garden"));
    assertEquals(1, goal.getTarget().size());
    assertTrue(goal.getTargetFirstRep().getMeasure().hasCoding(Codes.LOINC, "41347-6"));
    assertEquals(1, goal.getExtensionsByUrl(Codes.SIDE).size());
  }

  @Test
  void aTargetThatIsNotKnownIsNeverAchieved() {
    Goal goal =
        write(new GoalReading(RANGE, Optional.empty(), some(deg("118")), some(deg("120")), true));
    assertEquals("in-progress", achievement(goal));
    assertFalse(goal.getTargetFirstRep().hasDetail());
    assertTrue(goal.getTargetFirstRep().hasMeasure());
    assertTrue(goal.getText().getDivAsString().contains("not known yet"));
  }

  @Test
  void case76TheTargetIsOpenOnItsBetterSide() {
    Range more = (Range) write(range("118", "120", "146", false)).getTargetFirstRep().getDetail();
    assertEquals(146, more.getLow().getValue().intValue());
    assertEquals("deg", more.getLow().getCode());
    assertFalse(more.hasHigh());
    Goal step = write(new GoalReading(STEP, fixed(cm(0)), Optional.empty(), some(cm(18)), false));
    Range less = (Range) step.getTargetFirstRep().getDetail();
    assertEquals(0, less.getHigh().getValue().intValue());
    assertFalse(less.hasLow());
  }

  @Test
  void theMeasureIsAReportedItemOrAVariable() {
    CodeableConcept body =
        write(range("118", "120", "146", false)).getTargetFirstRep().getMeasure();
    assertTrue(body.hasCoding(Codes.REPORT_ITEM, "comfortable-flexion"));
    Goal step = write(new GoalReading(STEP, fixed(cm(0)), Optional.empty(), some(cm(18)), false));
    CodeableConcept setting = step.getTargetFirstRep().getMeasure();
    assertTrue(setting.hasCoding(Codes.PROGRESSION_VARIABLE, "step-height"));
    assertEquals("Height of the step under the front foot", setting.getText());
  }

  @Test
  void saysWhichGoalOfTheProgrammeItIsAndForWhichSide() {
    Goal goal = write(range("118", "120", "146", false));
    assertEquals("goal", goal.getExtensionString(Codes.structure("goal-code")));
    assertEquals("right", goal.getExtensionString(Codes.SIDE));
  }

  @Test
  void aGradeIsATargetInWords() {
    GoalDefinition free =
        Sample.goal(GoalDefinition.Kind.SETTING, "hand-assist", Direction.DECREASE);
    Goal goal =
        write(
            new GoalReading(
                free,
                fixed(new Grade("none")),
                Optional.empty(),
                some(new Grade("one-hand")),
                false));
    assertEquals("none", ((CodeableConcept) goal.getTargetFirstRep().getDetail()).getText());
  }

  @Test
  void theSameReadingGivesTheSameGoalAfterItWasStored() {
    GoalReading reading = range("118", "131", "146", false);
    Goal written = write(reading);
    written.addExtension(Codes.structure("of-another-system"), new StringType("kept"));
    Goal stored = Sample.stored(Goal.class, written);
    Goal again = write(reading, Optional.of(stored), "2026-07-01T08:00:00+02:00");
    assertTrue(again.equalsDeep(stored));
  }

  @Test
  void whatOthersHaveAddedStays() {
    Goal former = write(range("118", "120", "146", false));
    former.setLifecycleStatus(Goal.GoalLifecycleStatus.ONHOLD);
    former.addNote().setText("agreed with Ines");
    former.getTargetFirstRep().setDue(new DateType("2026-12-31"));
    Goal next =
        write(range("118", "131", "146", false), Optional.of(former), "2026-05-20T08:00:00Z");
    assertEquals(Goal.GoalLifecycleStatus.ONHOLD, next.getLifecycleStatus());
    assertEquals("agreed with Ines", next.getNoteFirstRep().getText());
    assertEquals(1, next.getTarget().size());
    assertEquals("2026-12-31", next.getTargetFirstRep().getDueDateType().getValueAsString());
    assertEquals("improving", achievement(next));
    assertEquals("in-progress", achievement(former));
  }

  @Test
  void aStatusDateOfAMonthDoesNotMakeItHeld() {
    GoalReading met = range("118", "146", "146", true);
    Goal former = write(met);
    former.setStatusDateElement(new DateType("2026-04"));
    assertEquals("achieved", achievement(write(met, Optional.of(former), "2026-05-20T08:00:00Z")));
  }

  @Test
  void theWordsSayWhetherAChangeIsShown() {
    String shown = write(range("118", "131", "146", false)).getText().getDivAsString();
    assertTrue(shown.contains("Improved by 13.0 degrees"), shown);
    String not = write(range("118", "121", "146", false)).getText().getDivAsString();
    assertTrue(not.contains("No change is shown"), not);
    assertTrue(not.contains("146° or more"), not);
  }

  /** The two readings of a goal as a range, a fortnight apart. */
  private static Optional<RangeFigures> range(GoalReading reading) {
    if (!reading.goal().equals(RANGE)) {
      return Optional.empty();
    }
    OffsetDateTime before = OffsetDateTime.parse("2026-04-01T08:00:00Z");
    return Optional.of(
        Sample.range(
            Reading.of(before, degrees(reading.first()), MeasuringMethod.GONIOMETER),
            Reading.of(before.plusDays(14), degrees(reading.now()), MeasuringMethod.GONIOMETER)));
  }

  private static double degrees(Optional<Value> value) {
    return ((Amount) value.orElseThrow()).value().doubleValue();
  }

  @ParameterizedTest(name = "{0}: {1}")
  @CsvSource(
      delimiter = '|',
      value = {
        "CLINICIAN | | A clinician has set it.",
        "PROGRAMME | | The programme sets it for everyone.",
        "MEASURED | other-side-flexion | It is as far as the other side bends.",
        "MEASURED | arm-reach | It was measured on this person: arm reach.",
        "COMPUTED | thigh-calf-contact | It is where calf and thigh meet, by their girths",
        "FUNCTIONAL | going down stairs | It is what going down stairs asks for."
      })
  void theTargetSaysWhereItComesFrom(GoalReading.Basis basis, String by, String sentence) {
    GoalReading.Target target =
        new GoalReading.Target(deg("135"), basis, Objects.requireNonNullElse(by, ""));
    Goal goal =
        write(
            new GoalReading(RANGE, Optional.of(target), some(deg("118")), some(deg("120")), false));
    assertEquals(
        basis.code(),
        goal.getTargetFirstRep()
            .getExtensionByUrl(Codes.structure("target-basis"))
            .getValue()
            .primitiveValue());
    assertTrue(goal.getText().getDivAsString().contains(sentence));
  }

  private static GoalReading range(String first, String now, String target, boolean met) {
    return new GoalReading(RANGE, fixed(deg(target)), some(deg(first)), some(deg(now)), met);
  }

  private static Optional<GoalReading.Target> fixed(Value value) {
    return Optional.of(new GoalReading.Target(value, GoalReading.Basis.PROGRAMME, ""));
  }

  private static Goal write(GoalReading reading) {
    return write(reading, Optional.empty(), "2026-05-04T07:30:00+02:00");
  }

  private static Goal write(GoalReading reading, Optional<Goal> former, String asOf) {
    return GoalWriter.write(
        Sample.PLAN, reading, range(reading), former, OffsetDateTime.parse(asOf));
  }

  private static String achievement(Goal goal) {
    return goal.getAchievementStatus().getCodingFirstRep().getCode();
  }

  private static Optional<Value> some(Value value) {
    return Optional.of(value);
  }

  private static Amount deg(String number) {
    return Amount.of(number, Unit.DEGREE);
  }

  private static Amount cm(long number) {
    return Amount.of(number, Unit.CENTIMETRE);
  }
}
