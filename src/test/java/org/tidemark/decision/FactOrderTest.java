package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.time.Duration;
import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.Collections;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Random;
import java.util.Set;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Equipment;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Side;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.PainScore;
import org.tidemark.quantity.Unit;
import org.tidemark.response.Morning;
import org.tidemark.response.ResponsePolicy;
import org.tidemark.response.Session;

/**
 * The clinical order of facts: by time, at one moment by what must be known first, then by where
 * they were read.
 */
class FactOrderTest {
  private static final OffsetDateTime NOON = OffsetDateTime.parse("2026-01-05T12:00:00+01:00");
  private static final Prescription ASKED =
      new Prescription("stage", "squat", new Setting(Map.of()), new Dose(2, 10, 0, 0, 7));

  /**
   * What is known of the person and the home, then what a clinician says, then what is reported.
   * The ids run against that order, so that it cannot come from them.
   */
  private static List<Fact> ofOneMoment() {
    return List.of(
        new Fact.BaselineTaken(NOON, id("m"), Map.of(), "", ""),
        new Fact.EquipmentListed(NOON, id("l"), Equipment.NONE),
        new Fact.PrecautionSet(NOON, id("k"), precaution()),
        new Fact.WarningRaised(NOON, id("j"), Set.of(Warning.FEVER)),
        new Fact.Enrolled(
            NOON, id("i"), Side.RIGHT, ResponsePolicy.SYMPTOM_FREE, ChangeControl.WITHIN_STAGE),
        new Fact.Resumed(NOON, id("h")),
        new Fact.SignedOff(NOON, id("g"), false, List.of()),
        new Fact.Overridden(NOON, id("f"), ASKED),
        new Fact.Held(NOON, id("e"), true),
        new Fact.Measured(NOON, id("d"), "bend", Amount.of(120, Unit.DEGREE), "", ""),
        new Fact.SessionDone(NOON, id("c"), session()),
        new Fact.MorningAfter(NOON, id("b"), morning()),
        new Fact.PainScored(NOON, id("a"), PainScore.NONE),
        new Fact.CaughtUp(NOON, id("0"), List.of(ASKED), List.of(ASKED)));
  }

  @Test
  void whatMustBeKnownFirstComesFirst() {
    List<Fact> expected = ofOneMoment();
    for (long seed = 0; seed < 20; seed++) {
      List<Fact> facts = new ArrayList<>(expected);
      Collections.shuffle(facts, new Random(seed));
      facts.sort(Fact.CLINICAL_ORDER);
      assertEquals(expected, facts);
    }
  }

  /** A target has the rank of a hold: after what is set by hand, before what is measured. */
  @Test
  void aTargetIsSetBeforeAnythingIsMeasured() {
    Fact target = new Fact.TargetSet(NOON, id("e2"), "range", Optional.empty());
    List<Fact> facts = new ArrayList<>(ofOneMoment());
    facts.add(0, target);
    facts.sort(Fact.CLINICAL_ORDER);
    assertTrue(facts.get(8) instanceof Fact.Held);
    assertEquals(target, facts.get(9));
    assertTrue(facts.get(10) instanceof Fact.Measured);
  }

  /** A plan folds facts of one moment in that order without a replay, and in no other. */
  @Test
  void aPlanGoesForwardInThatOrderAlone() {
    List<Fact> facts = ofOneMoment();
    for (int i = 0; i < facts.size(); i++) {
      PlanState reached = PlanState.EMPTY.at(facts.get(i));
      for (int j = 0; j < facts.size(); j++) {
        assertEquals(j >= i, reached.isFollowedBy(facts.get(j)), i + " " + j);
      }
    }
  }

  @Test
  void timeComesBeforeEverything() {
    Fact late = new Fact.BaselineTaken(NOON.plusSeconds(1), id("a"), Map.of(), "", "");
    Fact early = new Fact.PainScored(NOON, id("b"), PainScore.NONE);
    assertTrue(Fact.CLINICAL_ORDER.compare(early, late) < 0);
    Fact elsewhere =
        new Fact.Resumed(
            NOON.plus(Duration.ofSeconds(2)).withOffsetSameInstant(java.time.ZoneOffset.UTC),
            id("a"));
    assertTrue(Fact.CLINICAL_ORDER.compare(late, elsewhere) < 0, "11:00:02Z is after 12:00:01+01");
  }

  @ParameterizedTest(name = "{0} {1} {2} against {3} {4} {5}: {6}")
  @CsvSource({
    "Flag, 1, 1, Flag, 1, 1, 0",
    "Flag, 9, 9, Task, 1, 1, -1",
    "Task, 1, 1, Flag, 9, 9, 1",
    "Flag, 1, 9, Flag, 2, 1, -1",
    "Flag, 1, 1, Flag, 1, 2, -1",
    "Flag, 1, 10, Flag, 1, 9, 1"
  })
  void sourcesGoByTypeThenIdThenVersion(
      String type, String id, long version, String otherType, String other, long later, int sign) {
    FactSource first = new FactSource(type, id, version);
    FactSource second = new FactSource(otherType, other, later);
    assertEquals(sign, Integer.signum(first.compareTo(second)));
  }

  @Test
  void aSourceIsNamedWithItsVersion() {
    assertEquals("Observation/12/_history/3", new FactSource("Observation", "12", 3).reference());
  }

  private static FactSource id(String id) {
    return new FactSource("Observation", id, 1);
  }

  private static Precaution precaution() {
    return new Precaution(
        "",
        Precaution.Scope.ALL,
        Optional.empty(),
        Optional.empty(),
        Optional.empty(),
        NOON.toLocalDate(),
        Optional.empty(),
        false,
        false);
  }

  private static Session session() {
    return new Session(
        NOON,
        NOON,
        Optional.empty(),
        Optional.empty(),
        Optional.empty(),
        Optional.empty(),
        Optional.empty(),
        Optional.empty(),
        Optional.empty(),
        Optional.empty(),
        Optional.empty(),
        Optional.empty());
  }

  private static Morning morning() {
    return new Morning(
        NOON,
        Optional.empty(),
        Optional.empty(),
        Optional.empty(),
        Optional.empty(),
        Optional.empty());
  }
}
