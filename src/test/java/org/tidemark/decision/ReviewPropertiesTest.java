package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.ArrayList;
import java.util.Collections;
import java.util.List;
import java.util.Optional;
import java.util.Random;
import net.jqwik.api.Arbitrary;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.Provide;
import net.jqwik.api.ShrinkingMode;
import org.tidemark.decision.RandomHistories.Script;
import org.tidemark.programme.Equipment;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Stage;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Value;
import org.tidemark.response.Response;

/** What holds for every history, whatever comes in and in whatever order it arrives. */
class ReviewPropertiesTest {
  private static final int TRIES = 40;

  @Provide
  Arbitrary<Script> any() {
    return RandomHistories.any();
  }

  @Provide
  Arbitrary<Script> withoutHand() {
    return RandomHistories.withoutHand();
  }

  @Property(tries = TRIES, shrinking = ShrinkingMode.BOUNDED)
  void anyOrderOfArrivalGivesTheSamePlan(@ForAll("any") Script script, @ForAll long seed) {
    Story story = script.told();
    List<Fact> shuffled = new ArrayList<>(story.facts);
    Collections.shuffle(shuffled, new Random(seed));
    assertEquals(story.state, Review.replay(story.programme, shuffled));
  }

  /**
   * As the service does it: forward where the fact is the newest, from the start where it is late.
   */
  @Property(tries = 15, shrinking = ShrinkingMode.BOUNDED)
  void lateFactsAreTakenInAsTheyCome(@ForAll("any") Script script, @ForAll long seed) {
    Story story = script.told();
    Random chance = new Random(seed);
    List<Fact> arriving = new ArrayList<>(story.facts);
    for (int i = arriving.size() - 1; i > 0; i--) {
      Collections.swap(arriving, i, Math.max(0, i - chance.nextInt(4)));
    }
    List<Fact> arrived = new ArrayList<>();
    PlanState state = PlanState.EMPTY;
    for (Fact fact : arriving) {
      arrived.add(fact);
      state =
          state.isFollowedBy(fact)
              ? Review.advance(story.programme, state, fact)
              : Review.replay(story.programme, arrived);
    }
    assertEquals(story.state, state);
  }

  @Property(tries = TRIES, shrinking = ShrinkingMode.BOUNDED)
  void goingForwardEqualsAReplayAndAReplayEqualsItself(@ForAll("any") Script script) {
    Story story = script.told();
    PlanState replayed = Review.replay(story.programme, story.facts);
    assertEquals(story.state, replayed);
    assertEquals(replayed, Review.replay(story.programme, story.facts));
  }

  @Property(tries = TRIES, shrinking = ShrinkingMode.BOUNDED)
  void neverTwoUpwardChangesAtOnce(@ForAll("withoutHand") Script script) {
    Story story = script.told();
    List<Prescription> before = List.of();
    for (Decision decision : story.decisions) {
      List<Prescription> now = decision.inForce();
      if (!before.isEmpty() && !now.isEmpty() && decision.verdict() != Verdict.PLACE) {
        assertTrue(upward(story.programme, before, now) <= 1, () -> decision.toString());
      }
      before = now.isEmpty() ? before : now;
    }
  }

  /** Whatever a person owns: no step asks more than its cap, at the upper end of the band. */
  @Property(tries = TRIES, shrinking = ShrinkingMode.BOUNDED)
  void neverAStepAboveItsCap(@ForAll("any") Script script) {
    Story story = script.told();
    for (Decision decision : story.decisions) {
      if (decision.verdict() == Verdict.PROGRESS && decision.figures().demand().isPresent()) {
        Change change = decision.change().orElseThrow();
        double cap =
            story
                .programme
                .variation(change.variation())
                .flatMap(variation -> variation.variable(change.variable()))
                .flatMap(ProgressionVariable::demandCap)
                .orElse(story.programme.demandCap())
                .doubleValue();
        double high = decision.figures().demand().get().high();
        assertTrue(high <= cap, () -> decision.toString());
      }
    }
  }

  @Property(tries = TRIES, shrinking = ShrinkingMode.BOUNDED)
  void easingNeverRaisesAnything(@ForAll("any") Script script) {
    Story story = script.told();
    List<Prescription> before = List.of();
    for (int i = 0; i < story.decisions.size(); i++) {
      Decision decision = story.decisions.get(i);
      boolean byHand = decision.reasons().contains(Reason.CLINICIAN_OVERRIDE);
      if (decision.verdict() == Verdict.REGRESS && !before.isEmpty() && !byHand) {
        assertEquals(
            0, upward(story.programme, before, decision.inForce()), () -> decision.toString());
      }
      before = decision.inForce().isEmpty() ? before : decision.inForce();
    }
  }

  /** Only a clinician's yes to what was proposed before may come in between. */
  @Property(tries = TRIES, shrinking = ShrinkingMode.BOUNDED)
  void neverProgressOnAPendingOrMissingMorning(@ForAll("any") Script script) {
    Story story = script.told();
    PlanState state = PlanState.EMPTY;
    for (Fact fact : story.facts) {
      state = Review.advance(story.programme, state, fact);
      Optional<Decision> decision = state.last();
      if (decision.filter(d -> d.reasons().contains(Reason.SETTLED)).isEmpty()) {
        continue;
      }
      Diary.Entry newest = state.diary().newest().orElseThrow();
      assertEquals(Response.SETTLED, newest.response());
      assertTrue(newest.morning().flatMap(morning -> morning.pain()).isPresent());
    }
  }

  @Property(tries = TRIES, shrinking = ShrinkingMode.BOUNDED)
  void everySettingLiesInsideThePrecautionsAndCanBeMade(@ForAll("withoutHand") Script script) {
    Story story = script.told();
    PlanState state = PlanState.EMPTY;
    for (Fact fact : story.facts) {
      state = Review.advance(story.programme, state, fact);
      for (Prescription asked : state.inForce()) {
        Variation variation = story.programme.variation(asked.variation()).orElseThrow();
        for (Precaution precaution : state.person().precautions()) {
          assertTrue(
              !precaution.holdsOn(fact.at().toLocalDate())
                  || story.programme.allows(precaution, variation, asked.setting()),
              () -> asked + " against " + precaution);
        }
        Equipment equipment = state.person().equipment();
        for (ProgressionVariable variable : variation.variables()) {
          Value value = asked.setting().get(variable.code());
          assertTrue(
              variable.fromEasiest(equipment).contains(value),
              () -> variable.code() + " " + value + " with " + equipment);
        }
      }
    }
  }

  /** Withheld or incomplete with a reason, or at least one exercise. */
  @Property(tries = TRIES, shrinking = ShrinkingMode.BOUNDED)
  void somethingIsInForceUnlessTheDecisionSaysWhyNot(@ForAll("any") Script script) {
    Story story = script.told();
    for (Decision decision : story.decisions) {
      boolean nothing =
          decision.verdict() == Verdict.WITHHOLD || decision.verdict() == Verdict.INCOMPLETE;
      assertEquals(nothing, decision.inForce().isEmpty(), () -> decision.toString());
      boolean gapWithNothingEasier =
          decision.verdict() == Verdict.MAINTAIN && decision.reasons().get(0) == Reason.GAP;
      assertTrue(
          gapWithNothingEasier || decision.verdict() == decision.reasons().get(0).verdict(),
          () -> "the first reason carries the verdict: " + decision);
    }
  }

  /** What is kept does not grow with the history. */
  @Property(tries = 3, shrinking = ShrinkingMode.OFF)
  void theStateStaysSmall(@ForAll long seed) {
    Random chance = new Random(seed);
    Story story = Story.bendingKnee().begins();
    for (int i = 0; i < 1000; i++) {
      switch (chance.nextInt(40)) {
        case 0 -> story.day("0 0 3");
        case 1 -> story.day("1 0 1");
        case 2 -> story.warning(Warning.NIGHT_PAIN);
        case 3, 4 -> story.resumed();
        case 5 -> story.equipment();
        case 6 -> story.baseline();
        case 7 -> story.measured("comfortable-flexion", (100 + chance.nextInt(40)) + " deg");
        default -> story.accepting().quiet(1 + chance.nextInt(3));
      }
    }
    for (int i = 0; i < 200; i++) {
      story.warning(Warning.FEVER);
    }
    PlanState state = story.state;
    assertTrue(story.facts.size() > 2000);
    assertTrue(state.diary().sessions().size() <= 90);
    assertTrue(state.diary().mornings().size() <= 16);
    assertTrue(state.diary().quiet().size() <= 7);
    assertTrue(state.diary().flares().size() <= 30);
    assertTrue(state.standing().path().size() <= 64);
    assertTrue(state.person().sources().size() <= 32);
    assertTrue(state.control().sources().size() <= 32);
    assertTrue(state.person().precautions().isEmpty());
    assertTrue(
        story.decisions.stream().mapToInt(d -> d.restsOn().size()).max().orElseThrow() <= 110);
  }

  /**
   * How many things are harder than before. A new stage counts as one, whatever comes with it; an
   * exercise that joins its stage counts as one too.
   */
  private static int upward(
      Programme programme, List<Prescription> before, List<Prescription> now) {
    int stageBefore = furthest(programme, before);
    int stageNow = furthest(programme, now);
    if (stageNow != stageBefore) {
      return (stageNow > stageBefore ? 1 : 0)
          + (stageNow < stageBefore ? raised(programme, before, now) : 0);
    }
    long joined =
        now.stream()
            .filter(p -> before.stream().noneMatch(b -> b.variation().equals(p.variation())))
            .count();
    return (int) joined + raised(programme, before, now);
  }

  private static int furthest(Programme programme, List<Prescription> prescriptions) {
    List<String> stages = programme.stages().stream().map(Stage::code).toList();
    return prescriptions.stream().mapToInt(p -> stages.indexOf(p.stage())).max().orElseThrow();
  }

  /** How many values and doses of exercises that were there before are harder now. */
  private static int raised(
      Programme programme, List<Prescription> before, List<Prescription> now) {
    int raised = 0;
    for (Prescription p : now) {
      for (Prescription b : before) {
        if (!b.variation().equals(p.variation())) {
          continue;
        }
        for (ProgressionVariable variable :
            programme.variation(p.variation()).orElseThrow().variables()) {
          raised +=
              variable.compare(p.setting().get(variable.code()), b.setting().get(variable.code()))
                      > 0
                  ? 1
                  : 0;
        }
        raised += p.dose().volume() > b.dose().volume() ? 1 : 0;
        raised += p.dose().timesPerWeek() > b.dose().timesPerWeek() ? 1 : 0;
      }
    }
    return raised;
  }
}
