package org.tidemark.application;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.math.BigDecimal;
import java.time.LocalDate;
import java.time.OffsetDateTime;
import java.time.ZoneOffset;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Random;
import java.util.Set;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.constraints.LongRange;
import org.tidemark.decision.ChangeControl;
import org.tidemark.decision.Fact;
import org.tidemark.decision.FactSource;
import org.tidemark.decision.PlanState;
import org.tidemark.decision.RangeFigures;
import org.tidemark.decision.Review;
import org.tidemark.decision.Warning;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Equipment;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Side;
import org.tidemark.programme.TestProgrammes;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.PainScore;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.YesNo;
import org.tidemark.response.Morning;
import org.tidemark.response.ResponsePolicy;
import org.tidemark.response.Session;
import org.tidemark.trend.Interval;
import org.tidemark.trend.RangeChange;

/** What is kept of a plan comes back as it was, so that a plan folded on is a plan replayed. */
class PlanCodecTest {
  private static final Programme KNEE = TestProgrammes.KNEE;
  private static final OffsetDateTime START =
      OffsetDateTime.of(2026, 3, 2, 9, 0, 0, 123_000_000, ZoneOffset.ofHoursMinutes(5, 45));

  @Property(tries = 60)
  void aFoldedPlanComesBackAsItWas(@ForAll @LongRange(min = 0, max = 1_000_000) long seed) {
    History history = new History(seed);
    for (int day = 1; day <= 40; day++) {
      history.live(day);
      PlanState state = history.state;
      assertEquals(state, PlanCodec.state(PlanCodec.state(state)));
    }
  }

  @Property(tries = 60)
  void factsComeBackAsTheyWereAndFoldingOnIsReplaying(
      @ForAll @LongRange(min = 0, max = 1_000_000) long seed) {
    History history = new History(seed);
    for (int day = 1; day <= 40; day++) {
      history.live(day);
    }
    PlanState kept = PlanState.EMPTY;
    List<Fact> back = new ArrayList<>();
    for (Fact fact : history.facts) {
      Fact read = PlanCodec.fact(PlanCodec.fact(fact, 0, 1));
      assertEquals(fact, read);
      back.add(read);
      kept = Review.advance(KNEE, PlanCodec.state(PlanCodec.state(kept)), read);
    }
    assertEquals(history.state, kept);
    assertEquals(Review.replay(KNEE, back), kept);
  }

  @Property(tries = 60)
  void whatWasIssuedComesBackAsItWas(@ForAll @LongRange(min = 0, max = 1_000_000) long seed) {
    History history = new History(seed);
    for (int day = 1; day <= 20; day++) {
      history.live(day);
    }
    List<Issued.Order> orders =
        history.state.inForce().stream()
            .map(p -> new Issued.Order("o" + p.variation(), p, "active"))
            .toList();
    Issued issued =
        new Issued(
            orders,
            Optional.of(new Issued.Waiting(orders, history.state.inForce(), "task")),
            Map.of("range", new Issued.GoalRecord("g", "from \"this\"")),
            Map.of(
                "range",
                new Issued.RangeRecord(
                    "f1",
                    "from",
                    new RangeFigures(
                        "range",
                        OffsetDateTime.parse("2026-05-04T09:00:00.5+02:00"),
                        new Interval(117.25, 120.5, 124),
                        new Interval(-0.5, 0.25, 1),
                        new RangeChange(3.5, 9.7, RangeChange.Verdict.NOT_SHOWN),
                        1,
                        Optional.of(OffsetDateTime.parse("2026-03-04T09:00:00+02:00"))))),
            Optional.of(new Issued.Concern(List.of("fever"), "issue", "task")),
            Optional.of("review"),
            "shown",
            history.state.inForce());
    assertEquals(issued, PlanCodec.issued(PlanCodec.issued(issued)));
    assertEquals(Issued.NOTHING, PlanCodec.issued(PlanCodec.issued(Issued.NOTHING)));
  }

  /** A plan that is lived from a seed: good and bad days, warnings, limits, clinicians. */
  private static final class History {
    private final Random random;
    private final List<Fact> facts = new ArrayList<>();
    private PlanState state = PlanState.EMPTY;
    private int serial;

    History(long seed) {
      this.random = new Random(seed);
      add(
          new Fact.BaselineTaken(
              START,
              source("Observation"),
              Map.of(
                  "comfortable-flexion", amount("118.5", Unit.DEGREE),
                  "other-side-flexion", amount("140", Unit.DEGREE),
                  "gap", amount("7", Unit.CENTIMETRE),
                  "pain-at-rest", amount("1", Unit.SCORE),
                  "can-kneel", new YesNo(true),
                  "can-stand-on-one-leg", new YesNo(true)),
              "goniometer",
              "Practitioner/pt-1"));
      add(
          new Fact.EquipmentListed(
              START,
              source("Observation"),
              new Equipment(
                  Map.of(
                      "towel-roll",
                          List.of(amount("8", Unit.CENTIMETRE), amount("4.0", Unit.CENTIMETRE)),
                      "stair-riser", List.of(amount("17.5", Unit.CENTIMETRE)),
                      "stair-count", List.of(amount("12", Unit.COUNT)),
                      "dumbbell-pair", List.of(amount("2", Unit.KILOGRAM)),
                      "hand-support", List.of(new YesNo(true))))));
      add(
          new Fact.Enrolled(
              START.plusMinutes(5),
              source("CarePlan"),
              Side.RIGHT,
              random.nextBoolean() ? ResponsePolicy.SYMPTOM_FREE : ResponsePolicy.PAIN_MONITORED,
              random.nextBoolean() ? ChangeControl.WITHIN_STAGE : ChangeControl.EVERY_CHANGE));
    }

    void live(int day) {
      OffsetDateTime evening = START.plusDays(day).withHour(18);
      switch (random.nextInt(16)) {
        case 0 ->
            add(
                new Fact.WarningRaised(
                    evening, source("Observation"), Set.of(Warning.LOCKING, Warning.NIGHT_PAIN)));
        case 1 -> add(new Fact.Resumed(evening, source("Task")));
        case 2 ->
            add(
                new Fact.PrecautionSet(
                    evening,
                    source("Flag"),
                    new Precaution(
                        "not below, \"really\"",
                        Precaution.Scope.ALL,
                        Optional.of("towel-thickness"),
                        Optional.of(amount("6.50", Unit.CENTIMETRE)),
                        Optional.empty(),
                        LocalDate.of(2026, 3, 1),
                        Optional.of(evening.toLocalDate().plusDays(3)),
                        random.nextBoolean(),
                        false)));
        case 3 ->
            add(
                new Fact.Measured(
                    evening,
                    source("Observation"),
                    "comfortable-flexion",
                    amount("121.25", Unit.DEGREE),
                    "phone",
                    ""));
        case 4 -> byHand(evening);
        case 5 -> add(new Fact.Held(evening, source("CarePlan"), random.nextBoolean()));
        case 6 -> signOff(evening);
        case 7 -> add(new Fact.PainScored(evening.plusMinutes(10), source("Observation"), score()));
        default -> session(evening);
      }
    }

    private void session(OffsetDateTime evening) {
      add(
          new Fact.SessionDone(
              evening,
              source("Observation"),
              new Session(
                  evening,
                  evening.plusMinutes(20),
                  state.inForce().stream().findFirst().filter(p -> random.nextBoolean()),
                  Optional.empty(),
                  Optional.of(2),
                  Optional.of(10),
                  Optional.of(60),
                  Optional.of(true),
                  Optional.of(score()),
                  Optional.of(score()),
                  Optional.empty(),
                  Optional.of(random.nextInt(3)))));
      OffsetDateTime morning = evening.plusHours(13);
      add(
          new Fact.MorningAfter(
              morning,
              source("Observation"),
              new Morning(
                  morning,
                  Optional.of(score()),
                  Optional.of(5),
                  Optional.of(false),
                  Optional.of(true),
                  Optional.empty())));
    }

    private void byHand(OffsetDateTime at) {
      if (state.inForce().isEmpty()) {
        return;
      }
      Prescription now = state.inForce().get(0);
      Dose dose = now.dose();
      add(
          new Fact.Overridden(
              at,
              source("ServiceRequest"),
              new Prescription(
                  now.stage(),
                  now.variation(),
                  now.setting(),
                  new Dose(
                      dose.sets() + 1,
                      dose.repetitions(),
                      dose.holdSeconds(),
                      dose.timeSeconds(),
                      dose.timesPerWeek()))));
    }

    private void signOff(OffsetDateTime at) {
      state
          .control()
          .awaiting()
          .ifPresent(
              waiting ->
                  add(
                      new Fact.SignedOff(
                          at,
                          source("Task"),
                          random.nextBoolean(),
                          waiting.lines().stream().map(line -> line.prescription()).toList())));
    }

    private PainScore score() {
      return new PainScore(new BigDecimal(random.nextInt(10) == 0 ? "6.5" : "0"));
    }

    private FactSource source(String type) {
      return new FactSource(type, type.toLowerCase(java.util.Locale.ROOT) + ++serial, 1);
    }

    private void add(Fact fact) {
      if (!state.isFollowedBy(fact)) {
        return;
      }
      facts.add(fact);
      state = Review.advance(KNEE, state, fact);
    }

    private static Amount amount(String value, Unit unit) {
      return new Amount(new BigDecimal(value), unit);
    }
  }
}
