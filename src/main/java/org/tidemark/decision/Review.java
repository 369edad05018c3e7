package org.tidemark.decision;

import java.time.OffsetDateTime;
import java.time.temporal.ChronoUnit;
import java.util.Collection;
import java.util.Collections;
import java.util.Comparator;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import org.tidemark.decision.PlanState.Awaiting;
import org.tidemark.decision.PlanState.Control;
import org.tidemark.decision.PlanState.Standing;
import org.tidemark.decision.PlanState.UpwardChange;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/**
 * The review of a plan: a fold over its facts in clinical order. Each fact leads to a decision as
 * of its own time, so the same facts give the same plan in whatever order they arrived.
 */
public final class Review {
  /** What makes what stands a new beginning, from which a gap is counted. */
  private static final Set<Reason> BEGINNINGS =
      Set.of(Reason.PLACED, Reason.CLINICIAN_OVERRIDE, Reason.SIGNED_OFF);

  private Review() {}

  /** Folds all facts of a plan from the start, whatever order they are given in. */
  public static PlanState replay(Programme programme, Collection<Fact> facts) {
    PlanState state = PlanState.EMPTY;
    for (Fact fact : facts.stream().sorted(Fact.CLINICAL_ORDER).toList()) {
      state = advance(programme, state, fact);
    }
    return state;
  }

  /**
   * Folds one more fact.
   *
   * @param programme the programme of the plan
   * @param state the plan folded so far
   * @param fact a fact that does not come before the state's horizon
   * @throws IllegalArgumentException when the fact is older than the horizon; the plan must then be
   *     replayed
   */
  public static PlanState advance(Programme programme, PlanState state, Fact fact) {
    if (!state.isFollowedBy(fact)) {
      throw new IllegalArgumentException("a fact before the horizon needs a replay");
    }
    long gapDays = gapDays(state, fact);
    PlanState known = Absorbing.absorb(programme, state, fact).at(fact);
    if (known.enrolment().isEmpty()) {
      return known;
    }
    return decide(prove(new Situation(programme, known, fact, gapDays)));
  }

  /**
   * Whole days since the last session, or since a start or a clinician's setting that came after
   * it, when a report comes in or a clinician lets the exercise go on; 0 with any other fact, and
   * once the plan has been eased for the gap unless it has become a long one.
   */
  private static long gapDays(PlanState state, Fact fact) {
    boolean report =
        fact instanceof Fact.SessionDone
            || fact instanceof Fact.MorningAfter
            || fact instanceof Fact.PainScored;
    boolean goesOn =
        fact instanceof Fact.Resumed || (fact instanceof Fact.Held hold && !hold.held());
    if (!(report || goesOn) || state.standing().empty()) {
      return 0;
    }
    Optional<OffsetDateTime> session = state.diary().lastSession();
    OffsetDateTime from = session.orElseGet(() -> state.standing().lines().get(0).since());
    boolean eased = false;
    if (state.because().isPresent() && !state.because().get().asOf().isBefore(from)) {
      List<Reason> because = state.because().get().reasons();
      eased = because.contains(Reason.GAP);
      from = Collections.disjoint(because, BEGINNINGS) ? from : state.because().get().asOf();
    }
    long days = ChronoUnit.DAYS.between(from.toLocalDate(), fact.at().toLocalDate());
    return eased && days <= Rules.LONG_GAP_DAYS ? 0 : days;
  }

  /** Enough settled sessions after the newest upward change prove it. */
  private static Situation prove(Situation s) {
    Standing standing = s.state.standing();
    boolean proves =
        standing.unproven()
            && standing.lines().stream().anyMatch(line -> s.evidenceSuffices(line, 1));
    return proves ? s.with(s.state.with(standing.proven())) : s;
  }

  private static PlanState decide(Situation situation) {
    List<Reason> holding = Rules.holdingBack(situation);
    Verdict verdict =
        holding.stream()
            .map(Reason::verdict)
            .min(Comparator.naturalOrder())
            .orElse(Verdict.PROGRESS);
    if (verdict == Verdict.WITHHOLD) {
      return withhold(situation, holding);
    }
    if (!situation.placed()) {
      return place(situation);
    }
    if (verdict == Verdict.REGRESS) {
      return regress(situation, holding);
    }
    if (situation.fact instanceof Fact.SignedOff off && off.accepted()) {
      return signedOff(situation, holding);
    }
    return verdict == Verdict.MAINTAIN
        ? maintain(situation, holding, List.of())
        : progress(situation);
  }

  /**
   * Nothing in force. A flare that comes while the plan is on hold is answered once the hold ends.
   */
  private static PlanState withhold(Situation s, List<Reason> reasons) {
    Set<Reason> lasting = new LinkedHashSet<>(reasons);
    lasting.retainAll(Set.of(Reason.THIRD_FLARE, Reason.NOTHING_EASIER));
    Control control = s.state.control().withheldFor(lasting);
    control = reasons.contains(Reason.LONG_GAP) ? control.reassess(true) : control;
    PlanState held = s.state.with(control);
    PlanState after = lasting.isEmpty() ? held : held.with(s.state.diary().answeredFlare());
    boolean onlyHeld =
        reasons.stream()
            .noneMatch(
                reason -> reason.verdict() == Verdict.WITHHOLD && reason != Reason.PLAN_ON_HOLD);
    Draft draft = new Draft(s, Verdict.WITHHOLD, reasons).reviewAsked(!onlyHeld);
    return after.decided(draft.decision(List.of()), changedInForce(s, List.of()));
  }

  private static PlanState place(Situation s) {
    Placing.Place place = Placing.place(s.around);
    Draft draft =
        new Draft(s, place.reason().verdict(), List.of(place.reason()))
            .missing(place.missing())
            .precautions(place.precautions())
            .reviewAsked(place.reason() != Reason.PLACED);
    if (place.lines().isEmpty()) {
      return s.state.decided(draft.decision(List.of()), changedInForce(s, List.of()));
    }
    Standing standing = s.state.standing().changed(place.lines(), List.of());
    Prescription lead = place.lines().get(0).prescription();
    Change change =
        new Change(Change.Kind.PLACED, lead.variation(), "", "", lead.stage(), List.of());
    return s.state
        .with(standing)
        .with(s.state.diary().answeredFlare())
        .with(s.state.control().reassess(false).awaiting(Optional.empty()).completed(false))
        .decided(draft.change(change).decision(standing.prescriptions()), true);
  }

  private static PlanState regress(Situation s, List<Reason> reasons) {
    Standing before = s.state.standing();
    if (reasons.contains(Reason.EQUIPMENT_GONE)) {
      Optional<List<Line>> made = Easing.feasible(s.around, before.lines());
      if (made.isPresent() && s.around.forbidding(made.get()).isEmpty()) {
        return regressed(s, reasons, before.changed(made.get(), before.path()), Optional.empty());
      }
    }
    boolean limitAlone =
        reasons.contains(Reason.PRECAUTION_BROKEN) && reasons.stream().noneMatch(Review::byPain);
    Optional<Easing.Eased> eased =
        limitAlone
            ? Optional.empty()
            : Easing.ease(s.around, before)
                .filter(
                    easier ->
                        !reasons.contains(Reason.EQUIPMENT_GONE)
                            || s.around.canMake(easier.standing().lines()));
    if (eased.isPresent()) {
      boolean symptoms = reasons.contains(Reason.FLARE) || reasons.contains(Reason.TWO_STIRRED);
      Standing after =
          eased
              .get()
              .undone()
              .filter(step -> symptoms && !step.proven())
              .map(UpwardChange::change)
              .map(eased.get().standing()::failed)
              .orElse(eased.get().standing());
      return regressed(s, reasons, after, Optional.of(eased.get().change()));
    }
    if (reasons.contains(Reason.PRECAUTION_BROKEN)) {
      return inside(s, reasons);
    }
    if (reasons.stream().noneMatch(Review::byPain)) {
      return maintain(s, reasons, List.of());
    }
    return withhold(s, plus(reasons, Reason.NOTHING_EASIER));
  }

  private static boolean byPain(Reason reason) {
    return reason == Reason.FLARE
        || reason == Reason.TWO_STIRRED
        || reason == Reason.EQUIPMENT_GONE;
  }

  /**
   * Inside a precaution that the exercise in force breaks: the nearest easier setting; else the
   * newest step of the way here that it allows; else a fresh start from the baseline that is no
   * harder; else nothing.
   */
  private static PlanState inside(Situation s, List<Reason> reasons) {
    Standing before = s.state.standing();
    Optional<List<Line>> moved = Easing.inside(s.around, before.lines());
    if (moved.isPresent()) {
      return regressed(s, reasons, before.changed(moved.get(), before.path()), Optional.empty());
    }
    Optional<Easing.Eased> eased = Easing.ease(s.around, before);
    if (eased.isPresent()) {
      return regressed(s, reasons, eased.get().standing(), Optional.of(eased.get().change()));
    }
    List<Line> fresh = Easing.notAbove(s.around, Placing.place(s.around).lines(), before.lines());
    boolean easier =
        !fresh.isEmpty()
            && stageOf(s, fresh) <= stageOf(s, before.lines())
            && s.around.forbidding(fresh).isEmpty();
    if (easier) {
      return regressed(s, reasons, before.changed(fresh, List.of()), Optional.empty());
    }
    Draft draft =
        new Draft(s, Verdict.WITHHOLD, plus(reasons, Reason.PRECAUTION_FORBIDS_ALL))
            .reviewAsked(true);
    return s.state
        .with(before.changed(List.of(), List.of()))
        .with(s.state.diary().answeredFlare())
        .with(s.state.control().awaiting(Optional.empty()).completed(false))
        .decided(draft.decision(List.of()), true);
  }

  /** How far into the programme the furthest of the exercises is. */
  private static int stageOf(Situation s, List<Line> lines) {
    List<String> codes =
        s.around.programme().stages().stream().map(org.tidemark.programme.Stage::code).toList();
    return lines.stream()
        .mapToInt(line -> codes.indexOf(line.prescription().stage()))
        .max()
        .orElse(-1);
  }

  private static PlanState regressed(
      Situation s, List<Reason> reasons, Standing after, Optional<Change> change) {
    Draft draft =
        new Draft(s, Verdict.REGRESS, reasons)
            .reviewAsked(reasons.contains(Reason.SECOND_FLARE))
            .change(change.orElseGet(() -> moved(s, after)));
    return s.state
        .with(after)
        .with(s.state.diary().answeredFlare())
        .with(s.state.control().awaiting(Optional.empty()).completed(false))
        .decided(draft.decision(after.prescriptions()), true);
  }

  /** The first exercise that has moved, or the way back to another stage. */
  private static Change moved(Situation s, Standing after) {
    List<Prescription> before = s.state.standing().prescriptions();
    Prescription from = before.get(0);
    Prescription to = after.lines().get(0).prescription();
    for (Prescription now : after.prescriptions()) {
      for (Prescription then : before) {
        boolean same = now.stage().equals(then.stage()) && now.variation().equals(then.variation());
        if (same && !now.equals(then)) {
          return new Change(
              Change.Kind.EASED,
              now.variation(),
              "",
              Absorbing.text(then),
              Absorbing.text(now),
              List.of());
        }
      }
    }
    return new Change(Change.Kind.EASED, to.variation(), "", from.stage(), to.stage(), List.of());
  }

  private static PlanState maintain(
      Situation s, List<Reason> reasons, List<Change.Considered> considered) {
    Set<Reason> all = new LinkedHashSet<>(reasons);
    if (!s.state.control().completed()) {
      all.addAll(Rules.notReady(s));
    }
    Draft draft =
        new Draft(
                s, Verdict.MAINTAIN, all.isEmpty() ? List.of(Reason.NOTHING_NEW) : List.copyOf(all))
            .considered(considered);
    List<Prescription> inForce = s.state.standing().prescriptions();
    PlanState answered = s.state.with(s.state.diary().answeredFlare());
    return answered.decided(draft.decision(inForce), changedInForce(s, inForce));
  }

  /**
   * A clinician's yes to a proposal: what was proposed stands from now on. Absorbing has set it.
   */
  private static PlanState signedOff(Situation s, List<Reason> holding) {
    List<UpwardChange> path = s.state.standing().path();
    Change change = path.get(path.size() - 1).change();
    List<Reason> reasons = new java.util.ArrayList<>(List.of(Reason.SIGNED_OFF));
    reasons.addAll(holding);
    Draft draft = new Draft(s, Verdict.PROGRESS, reasons).change(change);
    return s.state.decided(draft.decision(s.state.standing().prescriptions()), true);
  }

  private static PlanState progress(Situation s) {
    if (s.state.control().completed()) {
      return maintain(s, List.of(Reason.MAINTENANCE), List.of());
    }
    if (s.ready().isEmpty()) {
      return stay(s, Rules.notReady(s), List.of());
    }
    List<Change.Considered> considered = new java.util.ArrayList<>();
    Reason why = null;
    boolean finished = false;
    for (Line line : s.inTurn()) {
      if (!s.isReady(line)) {
        continue;
      }
      Choosing.Choice choice = Choosing.choose(s.around, s.state.standing().lines(), line);
      considered.addAll(choice.considered());
      if (choice.change().isPresent()) {
        int factor = s.state.standing().factor(choice.change().get());
        if (s.evidenceSuffices(line, factor)) {
          return taken(s, line, choice, considered, factor);
        }
        considered.add(
            new Change.Considered(
                choice.change().get(), Reason.BACK_OFF, Optional.empty(), choice.demand()));
        why = why == null ? Reason.BACK_OFF : why;
      } else if (why == null || why == Reason.NOTHING_NEW) {
        why = choice.reason();
      }
      finished |= choice.finished();
    }
    if (finished) {
      Set<Reason> open = new LinkedHashSet<>();
      if (why != Reason.NOTHING_NEW) {
        open.add(why);
      }
      open.add(Reason.GOAL_NOT_MET);
      return goalsMet(s) ? complete(s) : stay(s, List.copyOf(open), considered);
    }
    return stay(s, List.of(why), considered);
  }

  /**
   * Nothing of the regular way up can be taken. When range has stalled, the programme's next option
   * for that is proposed; a clinician always answers it.
   */
  private static PlanState stay(
      Situation before, List<Reason> reasons, List<Change.Considered> considered) {
    Optional<PlanState.Stall> stall = Stalling.look(before);
    Situation s =
        stall
            .filter(known -> known != before.state.stall())
            .map(known -> before.with(before.state.with(known)))
            .orElse(before);
    Optional<Stalling.Try> option =
        stall.flatMap(PlanState.Stall::since).flatMap(since -> Stalling.next(s));
    if (option.isEmpty()) {
      return maintain(s, reasons, considered);
    }
    List<Change.Considered> all = new java.util.ArrayList<>(considered);
    all.addAll(option.get().considered());
    if (option.get().change().isEmpty()) {
      return maintain(s, plus(reasons, Reason.DWELL), all);
    }
    Change change = option.get().change().get();
    Draft draft =
        new Draft(s, Verdict.PROGRESS, List.of(Reason.RANGE_STALLED))
            .change(change)
            .demand(option.get().demand())
            .considered(all);
    return waiting(s, draft, new Awaiting(change, option.get().lines()));
  }

  private static PlanState waiting(Situation s, Draft draft, Awaiting awaiting) {
    return s.state
        .with(s.state.control().awaiting(Optional.of(awaiting)))
        .decided(
            draft.proposal(awaiting.prescriptions()).decision(s.state.standing().prescriptions()),
            false);
  }

  private static PlanState taken(
      Situation s,
      Line line,
      Choosing.Choice choice,
      List<Change.Considered> considered,
      int factor) {
    Change change = choice.change().orElseThrow();
    Draft draft =
        new Draft(s, Verdict.PROGRESS, List.of(Reason.SETTLED))
            .change(change)
            .demand(choice.demand())
            .considered(considered)
            .about(line, factor);
    if (waitsForClinician(s, change, line)) {
      return waiting(s, draft, new Awaiting(change, choice.lines()));
    }
    Standing after = climbed(s.state.standing(), change, choice.lines());
    return s.state.with(after).decided(draft.decision(after.prescriptions()), true);
  }

  static Standing climbed(Standing standing, Change change, List<Line> lines) {
    List<UpwardChange> path = new java.util.ArrayList<>(standing.path());
    path.add(new UpwardChange(change, standing.lines(), false));
    return standing.changed(lines, path);
  }

  private static boolean waitsForClinician(Situation s, Change change, Line line) {
    boolean every =
        s.state.enrolment().map(e -> e.control() == ChangeControl.EVERY_CHANGE).orElse(true);
    return every || change.kind() == Change.Kind.STAGE || firstLoad(change, line);
  }

  private static boolean firstLoad(Change change, Line line) {
    Value value = line.prescription().setting().get(change.variable());
    return value instanceof Amount amount && amount.unit() == Unit.KILOGRAM && amount.isZero();
  }

  private static boolean goalsMet(Situation s) {
    return s.around.programme().goals().stream()
        .allMatch(goal -> GoalReading.read(goal, s.state).met());
  }

  private static PlanState complete(Situation s) {
    int perWeek = s.around.programme().maintenancePerWeek();
    List<Line> kept =
        s.state.standing().lines().stream()
            .map(
                line ->
                    line.set(
                        new Prescription(
                            line.prescription().stage(),
                            line.prescription().variation(),
                            line.prescription().setting(),
                            line.prescription().dose().timesPerWeek(perWeek)),
                        s.at()))
            .toList();
    Standing after = s.state.standing().changed(kept, s.state.standing().path());
    Draft draft = new Draft(s, Verdict.COMPLETE, List.of(Reason.GOALS_HELD));
    return s.state
        .with(after)
        .with(s.state.control().completed(true))
        .decided(draft.decision(after.prescriptions()), true);
  }

  private static boolean changedInForce(Situation s, List<Prescription> inForce) {
    return !s.state.last().map(last -> last.inForce().equals(inForce)).orElse(false);
  }

  private static List<Reason> plus(List<Reason> reasons, Reason another) {
    Set<Reason> all = new java.util.TreeSet<>(reasons);
    all.add(another);
    return List.copyOf(all);
  }
}
