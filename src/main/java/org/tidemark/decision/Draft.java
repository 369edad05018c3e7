package org.tidemark.decision;

import java.util.ArrayList;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import org.tidemark.decision.Change.Considered;
import org.tidemark.demand.Ratio;
import org.tidemark.programme.Prescription;

/** A decision in the making: gathers what a situation has to say for it. */
final class Draft {
  /** The most recent sessions that a decision names as what it rests on. */
  private static final int MOST_SESSIONS = 20;

  /** Room for what a decision usually rests on: each session with its morning, and a few more. */
  private static final int USUAL_SOURCES = 3 * MOST_SESSIONS;

  private final Situation situation;
  private final Verdict verdict;
  private final List<Reason> reasons;
  private Optional<Change> change = Optional.empty();
  private List<Prescription> proposal;
  private boolean proposed;
  private List<Considered> considered = List.of();
  private List<String> missing = List.of();
  private final Set<String> precautions = new LinkedHashSet<>();
  private boolean reviewAsked;
  private Optional<Line> about;
  private int factor = 1;
  private Optional<Ratio> demand = Optional.empty();

  Draft(Situation situation, Verdict verdict, List<Reason> reasons) {
    this.situation = situation;
    this.verdict = verdict;
    this.reasons = reasons;
    this.proposal =
        situation
            .state
            .control()
            .awaiting()
            .map(PlanState.Awaiting::prescriptions)
            .orElse(List.of());
    this.about = situation.turn();
    situation.broken().forEach(precaution -> precautions.add(precaution.text()));
    if (verdict == Verdict.WITHHOLD || verdict == Verdict.REGRESS) {
      this.proposal = List.of();
    }
  }

  Draft change(Change made) {
    change = Optional.of(made);
    return this;
  }

  Draft proposal(List<Prescription> waiting) {
    proposal = waiting;
    proposed = true;
    return this;
  }

  Draft considered(List<Considered> weighed) {
    considered = weighed;
    return this;
  }

  Draft demand(Optional<Ratio> ratio) {
    demand = ratio;
    return this;
  }

  Draft missing(List<String> items) {
    missing = items;
    return this;
  }

  Draft precautions(List<String> texts) {
    precautions.addAll(texts);
    return this;
  }

  Draft reviewAsked(boolean asked) {
    reviewAsked = asked;
    return this;
  }

  Draft about(Line line, int evidenceFactor) {
    about = Optional.of(line);
    factor = evidenceFactor;
    return this;
  }

  Decision decision(List<Prescription> inForce) {
    List<Reason> all = new ArrayList<>(reasons);
    if (situation.placed() && situation.inferred()) {
      all.add(Reason.TIMING_INFERRED);
    }
    return new Decision(
        situation.at(),
        verdict,
        all,
        change,
        proposed,
        inForce,
        proposal,
        considered,
        situation.figures(about, factor, demand),
        restsOn(),
        situation.state.control().warnings(),
        List.copyOf(precautions),
        missing,
        reviewAsked);
  }

  private List<FactSource> restsOn() {
    Set<FactSource> sources = new LinkedHashSet<>(USUAL_SOURCES);
    sources.add(situation.fact.source());
    List<Diary.Entry> sessions = situation.state.diary().sessions();
    int from = Math.max(0, sessions.size() - MOST_SESSIONS);
    for (Diary.Entry entry : sessions.subList(from, sessions.size())) {
      if (entry.epoch() == situation.state.standing().epoch()) {
        sources.add(entry.source());
        entry.morningSource().ifPresent(sources::add);
      }
    }
    sources.addAll(situation.state.control().sources());
    sources.addAll(situation.state.person().sources());
    return List.copyOf(sources);
  }
}
