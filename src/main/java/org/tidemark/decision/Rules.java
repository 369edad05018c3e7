package org.tidemark.decision;

import java.util.ArrayList;
import java.util.EnumSet;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.function.Predicate;
import org.tidemark.decision.PlanState.Control;

/**
 * The rules that hold a plan back, each a named value. All are asked; the most cautious that
 * applies wins.
 */
final class Rules {
  /**
   * A longer time without a session restarts one change back; this many days are still no gap
   * (common practice).
   */
  static final int GAP_DAYS = 14;

  /**
   * A longer time without a session asks for a new baseline; this many days do not (common
   * practice).
   */
  static final int LONG_GAP_DAYS = 42;

  private record Rule(Reason reason, Predicate<Situation> applies) {}

  private static final List<Rule> HOLDING_BACK =
      List.of(
          new Rule(Reason.WARNING_OPEN, s -> !control(s).warnings().isEmpty()),
          new Rule(Reason.PLAN_ON_HOLD, s -> control(s).held()),
          new Rule(Reason.THIRD_FLARE, s -> s.freshFlare() && s.flares() >= 3),
          new Rule(
              Reason.LONG_GAP,
              s -> s.placed() && (control(s).reassess() || s.gapDays > LONG_GAP_DAYS)),
          new Rule(Reason.PRECAUTION_BROKEN, s -> !s.broken().isEmpty()),
          new Rule(Reason.EQUIPMENT_GONE, Situation::equipmentGone),
          new Rule(Reason.SECOND_FLARE, s -> s.freshFlare() && s.flares() == 2),
          new Rule(Reason.FLARE, s -> s.placed() && s.freshFlare()),
          new Rule(Reason.TWO_STIRRED, s -> s.placed() && s.stirredOfLastFour() >= 2),
          new Rule(
              Reason.GAP, s -> s.placed() && s.gapDays > GAP_DAYS && s.gapDays <= LONG_GAP_DAYS),
          new Rule(Reason.AWAITING_SIGN_OFF, s -> control(s).awaiting().isPresent()),
          new Rule(Reason.SEVERAL_STEPS, s -> s.fact instanceof Fact.CaughtUp),
          new Rule(
              Reason.SIGN_OFF_REFUSED,
              s -> s.fact instanceof Fact.SignedOff off && !off.accepted()),
          new Rule(Reason.CLINICIAN_OVERRIDE, s -> s.fact instanceof Fact.Overridden),
          new Rule(Reason.RESUMED, s -> s.fact instanceof Fact.Resumed),
          new Rule(Reason.MORNING_PENDING, s -> s.placed() && s.pending()),
          new Rule(Reason.ONE_STIRRED, s -> s.placed() && s.stirredOfLastFour() == 1),
          new Rule(
              Reason.UNQUIET_MORNING,
              s -> s.placed() && s.state.diary().unquiet(s.state.person().items())));

  private Rules() {}

  /**
   * Every rule that applies, in the order above, with what has been withheld before and still is.
   */
  static List<Reason> holdingBack(Situation situation) {
    Set<Reason> applying = EnumSet.noneOf(Reason.class);
    for (Rule rule : HOLDING_BACK) {
      if (rule.applies().test(situation)) {
        applying.add(rule.reason());
      }
    }
    applying.addAll(control(situation).withheld());
    return new ArrayList<>(applying);
  }

  /**
   * Why no exercise is ready to be made harder, about the one whose turn it is. Empty when one is.
   * What has not been asked for a day, or has no answered session yet, is not called too little.
   */
  static List<Reason> notReady(Situation situation) {
    if (situation.ready().isPresent()) {
      return List.of();
    }
    Optional<Line> turn = situation.turn();
    if (turn.isEmpty()) {
      return List.of();
    }
    List<Reason> reasons = new ArrayList<>();
    if (!situation.evidenceSuffices(turn.get(), 1)) {
      reasons.add(Reason.EVIDENCE_THIN);
    }
    boolean due = situation.daysAsked(turn.get()) > 0 || reasons.isEmpty();
    if (due && !situation.adheres(turn.get())) {
      reasons.add(Reason.ADHERENCE_LOW);
    }
    boolean answered = situation.lastAnswered(turn.get()).isPresent() || reasons.isEmpty();
    if (answered && !situation.contactShown(turn.get())) {
      reasons.add(Reason.CONTACT_NOT_REACHED);
    }
    return reasons;
  }

  private static Control control(Situation situation) {
    return situation.state.control();
  }
}
