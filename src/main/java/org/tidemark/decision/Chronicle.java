package org.tidemark.decision;

import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.Collection;
import java.util.Collections;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import org.tidemark.programme.Exercise;
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
   * @param source where it was read
   * @param at when it began
   * @param response what came of it, as far as is known
   * @param leading whether it counts for an exercise that leads a stage of the programme
   */
  public record Outcome(FactSource source, OffsetDateTime at, Response response, boolean leading) {}

  /** How the recent sessions of a plan went, as they are judged now, in the order they came. */
  public static List<Outcome> recent(Programme programme, PlanState state) {
    Set<String> leads = leads(programme);
    return state.diary().sessions().stream().map(entry -> outcome(leads, entry)).toList();
  }

  /**
   * How many sessions a week a plan asks for: those of the leading exercise, 0 while nothing is in
   * force.
   */
  public static int askedPerWeek(Programme programme, List<Prescription> inForce) {
    return lead(programme, inForce)
        .map(prescription -> prescription.dose().timesPerWeek())
        .orElse(0);
  }

  /** The leading exercise among what is in force; empty while nothing is. */
  public static Optional<Prescription> lead(Programme programme, List<Prescription> inForce) {
    return inForce.stream()
        .filter(
            prescription ->
                programme
                    .exercise(prescription.stage(), prescription.variation())
                    .filter(exercise -> exercise.role() == Exercise.Role.LEAD)
                    .isPresent())
        .findFirst();
  }

  private static Set<String> leads(Programme programme) {
    return programme.stages().stream()
        .flatMap(stage -> stage.exercises().stream())
        .filter(exercise -> exercise.role() == Exercise.Role.LEAD)
        .map(exercise -> exercise.variation().code())
        .collect(Collectors.toSet());
  }

  private static Outcome outcome(Set<String> leads, Diary.Entry entry) {
    return new Outcome(
        entry.source(),
        entry.session().start(),
        entry.response(),
        !Collections.disjoint(leads, entry.variations()));
  }

  /** Tells a plan from its facts, in whatever order they are given. */
  public static Chronicle of(Programme programme, Collection<Fact> facts) {
    PlanState state = PlanState.EMPTY;
    List<Decision> changes = new ArrayList<>();
    Map<FactSource, Outcome> sessions = new LinkedHashMap<>();
    Set<String> leads = leads(programme);
    for (Fact fact : facts.stream().sorted(Fact.CLINICAL_ORDER).toList()) {
      state = Review.advance(programme, state, fact);
      if (fact instanceof Fact.CaughtUp caughtUp) {
        takeBack(changes, caughtUp.kept());
      }
      state.last().filter(decision -> changes(changes, decision)).ifPresent(changes::add);
      for (Diary.Entry entry : state.diary().sessions()) {
        sessions.put(entry.source(), outcome(leads, entry));
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
