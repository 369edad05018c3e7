package org.tidemark.decision;

import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.Collection;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.response.Response;

/**
 * How a plan has gone, told from all its facts as they are known now. A report that came late or
 * was corrected is told as if it had come in time and right; what was issued meanwhile is kept in
 * the prescriptions themselves.
 *
 * @param now the plan folded up to its newest fact
 * @param changes the decisions that changed what is in force, earliest first
 * @param sessions how each session went, in the order they came
 */
public record Chronicle(PlanState now, List<Decision> changes, List<Outcome> sessions) {
  public Chronicle {
    changes = List.copyOf(changes);
    sessions = List.copyOf(sessions);
  }

  /**
   * How a session went.
   *
   * @param at when it began
   * @param response what came of it, as far as is known
   */
  public record Outcome(OffsetDateTime at, Response response) {}

  /** Tells a plan from its facts, in whatever order they are given. */
  public static Chronicle of(Programme programme, Collection<Fact> facts) {
    PlanState state = PlanState.EMPTY;
    List<Decision> changes = new ArrayList<>();
    Map<FactSource, Outcome> sessions = new LinkedHashMap<>();
    for (Fact fact : facts.stream().sorted(Fact.CLINICAL_ORDER).toList()) {
      state = Review.advance(programme, state, fact);
      if (fact instanceof Fact.CaughtUp caughtUp) {
        takeBack(changes, caughtUp.kept());
      }
      state.last().filter(decision -> changes(changes, decision)).ifPresent(changes::add);
      for (Diary.Entry entry : state.diary().sessions()) {
        sessions.put(entry.source(), new Outcome(entry.session().start(), entry.response()));
      }
    }
    return new Chronicle(state, changes, List.copyOf(sessions.values()));
  }

  /** Nothing of what reports that came together led to was ever asked for. */
  private static void takeBack(List<Decision> changes, List<Prescription> kept) {
    for (int i = changes.size() - 1; i >= 0; i--) {
      if (changes.get(i).inForce().equals(kept)) {
        changes.subList(i + 1, changes.size()).clear();
        return;
      }
    }
  }

  private static boolean changes(List<Decision> before, Decision decision) {
    List<Prescription> stood =
        before.isEmpty() ? List.of() : before.get(before.size() - 1).inForce();
    return !stood.equals(decision.inForce());
  }
}
