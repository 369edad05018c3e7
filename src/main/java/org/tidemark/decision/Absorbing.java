package org.tidemark.decision;

import java.util.ArrayList;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import org.tidemark.decision.PlanState.Awaiting;
import org.tidemark.decision.PlanState.Control;
import org.tidemark.decision.PlanState.Enrolment;
import org.tidemark.decision.PlanState.Standing;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Value;
import org.tidemark.response.Response;
import org.tidemark.response.ResponsePolicy;
import org.tidemark.response.Session;

/** Takes a fact into what is known of a plan, without deciding anything. */
final class Absorbing {
  private Absorbing() {}

  static PlanState absorb(Programme programme, PlanState state, Fact fact) {
    if (fact instanceof Fact.BaselineTaken baseline) {
      PlanState known = state.with(state.person().baseline(baseline, programme.needs()));
      return state.control().reassess()
          ? known.with(state.standing().changed(List.of(), List.of()))
          : known;
    }
    if (fact instanceof Fact.EquipmentListed equipment) {
      return reconsidered(programme, state.with(state.person().owning(equipment)), fact);
    }
    if (fact instanceof Fact.PrecautionSet precaution) {
      return reconsidered(programme, state.with(state.person().limited(precaution)), fact);
    }
    if (fact instanceof Fact.Measured measured) {
      return state.with(state.person().measured(measured, programme.needs()));
    }
    if (fact instanceof Fact.TargetSet target) {
      return state.with(state.person().aiming(target));
    }
    if (fact instanceof Fact.Enrolled enrolled) {
      return state.with(
          new Enrolment(
              enrolled.at(),
              enrolled.source(),
              enrolled.side(),
              enrolled.policy(),
              enrolled.control()));
    }
    if (fact instanceof Fact.WarningRaised warning) {
      return state.with(state.control().warned(warning));
    }
    if (fact instanceof Fact.Resumed) {
      return resumed(state, fact);
    }
    if (fact instanceof Fact.Held held) {
      return state.with(state.control().held(held.held()));
    }
    if (fact instanceof Fact.SignedOff off) {
      return signedOff(programme, state, off);
    }
    if (fact instanceof Fact.Overridden override) {
      return overridden(programme, state, override);
    }
    if (fact instanceof Fact.CaughtUp caughtUp) {
      return caughtUp(programme, state, caughtUp);
    }
    return reported(programme, state, fact);
  }

  /** A clinician has looked: what came before no longer counts, for or against. */
  private static PlanState resumed(PlanState state, Fact fact) {
    Standing standing = state.standing();
    List<Line> anew = standing.lines().stream().map(line -> line.anew(fact.at())).toList();
    return state
        .with(state.control().resumed())
        .with(state.diary().forgiven())
        .with(standing.changed(anew, standing.path()));
  }

  /** Back to what was in force, with the way up to it; where the reports lead waits. */
  private static PlanState caughtUp(Programme programme, PlanState state, Fact.CaughtUp fact) {
    Standing standing = state.standing();
    int end = 0;
    while (end < standing.path().size() && !stoodBefore(standing.path().get(end), fact.kept())) {
      end++;
    }
    List<PlanState.UpwardChange> path =
        standing.path().subList(0, end == standing.path().size() ? 0 : end);
    Change change =
        byHand(fact.proposed().get(0), standing.lines(lines(programme, fact.kept(), fact)));
    Awaiting waiting = new Awaiting(change, lines(programme, fact.proposed(), fact));
    return state
        .with(standing.changed(lines(programme, fact.kept(), fact), path))
        .with(state.control().awaiting(Optional.of(waiting)));
  }

  private static boolean stoodBefore(PlanState.UpwardChange change, List<Prescription> kept) {
    return change.before().stream().map(Line::prescription).toList().equals(kept);
  }

  /** A proposal that can no longer be made, or that a precaution now forbids, is withdrawn. */
  private static PlanState reconsidered(Programme programme, PlanState state, Fact fact) {
    Surroundings around = new Surroundings(programme, state.person(), fact.at());
    boolean stands =
        state
            .control()
            .awaiting()
            .filter(waiting -> around.canMake(waiting.lines()))
            .filter(waiting -> around.forbidding(waiting.lines()).isEmpty())
            .isPresent();
    return stands ? state : state.with(state.control().awaiting(Optional.empty()));
  }

  private static PlanState reported(Programme programme, PlanState state, Fact fact) {
    if (state.standing().empty() && !(fact instanceof Fact.MorningAfter)) {
      return state;
    }
    ResponsePolicy policy =
        state.enrolment().map(Enrolment::policy).orElse(ResponsePolicy.SYMPTOM_FREE);
    Map<String, Value> items = state.person().items();
    Diary before = state.diary();
    Diary after = before;
    if (fact instanceof Fact.SessionDone done) {
      Diary.Entry entry =
          new Diary.Entry(
              done.source(),
              done.session(),
              Optional.empty(),
              Optional.empty(),
              false,
              false,
              false,
              Response.PENDING,
              state.standing().epoch(),
              countsFor(programme, state, done.session()));
      after = before.plus(entry, items, policy);
    } else if (fact instanceof Fact.MorningAfter morning) {
      after = before.plus(morning.morning(), morning.source(), false, items, policy);
    } else if (fact instanceof Fact.PainScored pain) {
      after = before.plus(pain.pain(), pain.at(), pain.source(), items, policy);
    }
    return state.with(after).with(tallied(state.standing(), before, after));
  }

  /**
   * The exercises that a session says something good about: those it was done at, at their setting
   * or a harder one; none while exercise is withheld.
   */
  private static Set<String> countsFor(Programme programme, PlanState state, Session session) {
    Set<String> counts = new LinkedHashSet<>();
    if (state.inForce().isEmpty()) {
      return counts;
    }
    for (Line line : state.standing().lines()) {
      Prescription asked = line.prescription();
      boolean sameExercise =
          session.done().map(done -> done.variation().equals(asked.variation())).orElse(true);
      Optional<Setting> setting = session.done().map(Prescription::setting).or(session::settings);
      boolean counted =
          sameExercise && setting.map(done -> !easier(programme, asked, done)).orElse(true);
      if (counted) {
        counts.add(asked.variation());
      }
    }
    return counts;
  }

  private static boolean easier(Programme programme, Prescription asked, Setting done) {
    Variation variation = programme.variation(asked.variation()).orElseThrow();
    for (ProgressionVariable variable : variation.variables()) {
      Value wanted = asked.setting().get(variable.code());
      Value was = done.get(variable.code());
      boolean comparable = wanted != null && was != null && variable.accepts(was);
      if (comparable && variable.compare(was, wanted) < 0) {
        return true;
      }
    }
    return false;
  }

  /** Counts what has become known of the sessions of the present state. */
  private static Standing tallied(Standing standing, Diary before, Diary after) {
    List<Line> lines = new ArrayList<>(standing.lines());
    for (Diary.Entry entry : after.sessions()) {
      if (entry.epoch() != standing.epoch() || before.holds(entry)) {
        continue;
      }
      Optional<Diary.Entry> former = before.find(entry.source());
      if (former.filter(known -> known.response() == entry.response()).isPresent()) {
        continue;
      }
      for (int i = 0; i < lines.size(); i++) {
        String variation = lines.get(i).prescription().variation();
        int answered =
            answered(entry, variation) - former.map(known -> answered(known, variation)).orElse(0);
        int unsettled = unsettled(entry) - former.map(Absorbing::unsettled).orElse(0);
        lines.set(i, lines.get(i).count(answered, unsettled));
      }
    }
    return standing.lines(lines);
  }

  /**
   * A session that stirred speaks against every exercise of the plan, one that settled for those it
   * was done at.
   */
  private static int answered(Diary.Entry entry, String variation) {
    return switch (entry.response()) {
      case PENDING -> 0;
      case SETTLED -> entry.variations().contains(variation) ? 1 : 0;
      case STIRRED, FLARED -> 1;
    };
  }

  private static int unsettled(Diary.Entry entry) {
    return entry.response() == Response.STIRRED || entry.response() == Response.FLARED ? 1 : 0;
  }

  private static PlanState signedOff(Programme programme, PlanState state, Fact.SignedOff off) {
    Optional<Awaiting> awaiting = state.control().awaiting();
    PlanState free =
        state
            .with(state.control().awaiting(Optional.empty()))
            .with(
                awaiting
                    .map(Awaiting::change)
                    .filter(change -> change.kind() == Change.Kind.STALL)
                    .map(change -> state.stall().trying(change.to()))
                    .orElse(state.stall()));
    if (!off.accepted()) {
      Standing standing = state.standing();
      List<Line> anew = standing.lines().stream().map(line -> line.anew(off.at())).toList();
      Standing after = standing.changed(anew, standing.path());
      return free.with(awaiting.map(waiting -> after.failed(waiting.change())).orElse(after));
    }
    List<Line> lines = lines(programme, off.proposed(), off);
    Change change =
        awaiting
            .map(Awaiting::change)
            .orElseGet(() -> byHand(off.proposed().get(0), state.standing()));
    return free.with(Review.climbed(state.standing(), change, lines));
  }

  private static List<Line> lines(
      Programme programme, List<Prescription> prescriptions, Fact fact) {
    return prescriptions.stream().map(p -> Line.begin(p, role(programme, p), fact.at())).toList();
  }

  private static Exercise.Role role(Programme programme, Prescription prescription) {
    return programme
        .exercise(prescription.stage(), prescription.variation())
        .map(Exercise::role)
        .orElseThrow(() -> new IllegalStateException("no exercise " + prescription.variation()));
  }

  /** A clinician's setting replaces the exercise of the same variation, or joins the plan. */
  private static PlanState overridden(Programme programme, PlanState state, Fact.Overridden fact) {
    Prescription set = fact.prescription();
    Standing standing = state.standing();
    List<Line> lines = new ArrayList<>();
    boolean replaced = false;
    boolean harder = false;
    for (Line line : standing.lines()) {
      if (line.prescription().variation().equals(set.variation())) {
        harder =
            easier(programme, set, line.prescription().setting())
                || more(set.dose(), line.prescription().dose());
        lines.add(line.set(set, fact.at()));
        replaced = true;
      } else {
        lines.add(line.anew(fact.at()));
      }
    }
    if (!replaced) {
      harder = true;
      lines.add(Line.begin(set, role(programme, set), fact.at()));
    }
    Control free = state.control().awaiting(Optional.empty());
    Standing after =
        harder
            ? Review.climbed(standing, byHand(set, standing), lines)
            : standing.changed(lines, standing.path());
    return state.with(free).with(after);
  }

  private static boolean more(Dose set, Dose before) {
    return set.volume() > before.volume();
  }

  private static Change byHand(Prescription set, Standing standing) {
    String before =
        standing.lines().stream()
            .map(Line::prescription)
            .filter(p -> p.variation().equals(set.variation()))
            .findFirst()
            .map(p -> text(p))
            .orElse("");
    return new Change(Change.Kind.OVERRIDE, set.variation(), "", before, text(set), List.of());
  }

  static String text(Prescription prescription) {
    return prescription.setting().values().entrySet().stream()
            .map(entry -> entry.getKey() + " " + Change.text(entry.getValue()))
            .collect(Collectors.joining(", "))
        + ", "
        + Choosing.describe(prescription.dose());
  }
}
