package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.tidemark.fhir.Reports.facts;
import static org.tidemark.fhir.Reports.sample;

import java.time.OffsetDateTime;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.Observation;
import org.junit.jupiter.api.Test;
import org.tidemark.decision.Fact;
import org.tidemark.decision.Warning;
import org.tidemark.programme.Equipment;
import org.tidemark.programme.Side;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.PainScore;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.YesNo;
import org.tidemark.response.Morning;
import org.tidemark.response.Session;

/** Every shape that clients send, one sample each. */
class ObservationExamplesTest {
  private static final Optional<Side> LEFT = Optional.of(Side.LEFT);
  private static final Set<String> KNEE = Set.of(Codes.SNOMED_KNEE);

  private static Intake.Facts of(Fact fact, Optional<Side> side, Set<String> regions) {
    return new Intake.Facts(List.of(fact), side, regions, Optional.empty(), Optional.empty());
  }

  private static OffsetDateTime at(String time) {
    return OffsetDateTime.parse(time);
  }

  private static Amount amount(String number, Unit unit) {
    return Amount.of(number, unit);
  }

  @Test
  void homeEquipmentListsEveryPiece() {
    Equipment equipment =
        new Equipment(
            Map.of(
                "stair-riser", List.of(amount("17.78", Unit.CENTIMETRE)),
                "stair-count", List.of(amount("14", Unit.COUNT)),
                "towel-roll", List.of(amount("9", Unit.CENTIMETRE), amount("5", Unit.CENTIMETRE)),
                "book", List.of(amount("3", Unit.CENTIMETRE)),
                "block", List.of(amount("10", Unit.CENTIMETRE)),
                "dumbbell-pair",
                    List.of(amount("2", Unit.KILOGRAM), amount("4.5359", Unit.KILOGRAM)),
                "slant-board", List.of(amount("20", Unit.DEGREE)),
                "hand-support", List.of(YesNo.YES),
                "stationary-cycle", List.of(YesNo.NO)));
    assertEquals(
        of(
            new Fact.EquipmentListed(at("2026-05-04T08:30:00+02:00"), Reports.SOURCE, equipment),
            Optional.empty(),
            Set.of()),
        facts(sample(Observation.class, "home-equipment")));
  }

  @Test
  void baselineHoldsAmountsAndAnswers() {
    Map<String, org.tidemark.quantity.Value> items =
        Map.ofEntries(
            Map.entry("comfortable-flexion", amount("112", Unit.DEGREE)),
            Map.entry("other-side-flexion", amount("143", Unit.DEGREE)),
            Map.entry("gap", amount("8", Unit.CENTIMETRE)),
            Map.entry("pain-at-rest", amount("1", Unit.SCORE)),
            Map.entry("can-kneel", YesNo.YES),
            Map.entry("can-stand-on-one-leg", YesNo.NO),
            Map.entry("wall-lunge-distance", amount("9.5", Unit.CENTIMETRE)),
            Map.entry("body-height", amount("174", Unit.CENTIMETRE)),
            Map.entry("body-weight", amount("82", Unit.KILOGRAM)),
            Map.entry("calf-girth", amount("38.1", Unit.CENTIMETRE)),
            Map.entry("thigh-girth", amount("58", Unit.CENTIMETRE)));
    assertEquals(
        of(
            new Fact.BaselineTaken(at("2026-05-04T09:00:00+02:00"), Reports.SOURCE, items, "", ""),
            LEFT,
            KNEE),
        facts(sample(Observation.class, "baseline-assessment")));
  }

  @Test
  void sessionSaysWhatWasDoneAndFelt() {
    OffsetDateTime at = at("2026-05-05T18:20:00+02:00");
    Session session =
        new Session(
            at,
            at,
            Optional.empty(),
            Optional.empty(),
            Optional.of(2),
            Optional.of(10),
            Optional.of(60),
            Optional.of(true),
            Optional.of(PainScore.of(2)),
            Optional.of(PainScore.of(1)),
            Optional.of(PainScore.of(4)),
            Optional.empty());
    assertEquals(
        new Intake.Facts(
            List.of(new Fact.SessionDone(at, Reports.SOURCE, session)),
            LEFT,
            KNEE,
            Optional.of("ServiceRequest/41"),
            Optional.empty()),
        facts(sample(Observation.class, "session-report")));
  }

  @Test
  void morningAnswersFourQuestions() {
    OffsetDateTime at = at("2026-05-06T07:15:00+02:00");
    Morning morning =
        new Morning(
            at,
            Optional.of(PainScore.of(1)),
            Optional.of(10),
            Optional.of(false),
            Optional.of(true),
            Optional.empty());
    assertEquals(
        of(new Fact.MorningAfter(at, Reports.SOURCE, morning), LEFT, KNEE),
        facts(sample(Observation.class, "morning-report")));
  }

  @Test
  void warningHoldsOnlyTheSignsThatAreThere() {
    assertEquals(
        of(
            new Fact.WarningRaised(
                at("2026-05-07T08:00:00+02:00"), Reports.SOURCE, Set.of(Warning.GIVING_WAY)),
            LEFT,
            KNEE),
        facts(sample(Observation.class, "warning-report")));
  }

  @Test
  void bareRangeCodeIsAMeasurementByItsMethod() {
    assertEquals(
        of(
            new Fact.Measured(
                at("2026-05-18T10:00:00+02:00"),
                Reports.SOURCE,
                "comfortable-flexion",
                amount("116", Unit.DEGREE),
                "inclinometer",
                ""),
            LEFT,
            KNEE),
        facts(sample(Observation.class, "range-measurement")));
  }

  @Test
  void barePainScoreIsJustThat() {
    assertEquals(
        of(
            new Fact.PainScored(at("2026-05-06T07:40:00+02:00"), Reports.SOURCE, PainScore.of(3)),
            LEFT,
            KNEE),
        facts(sample(Observation.class, "bare-pain-score")));
  }
}
