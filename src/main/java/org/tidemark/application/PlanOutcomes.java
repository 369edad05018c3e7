package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.runtime.StartupEvent;
import jakarta.annotation.Priority;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.time.LocalDate;
import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.tidemark.clinic.Clinics;
import org.tidemark.decision.Chronicle;
import org.tidemark.decision.Decision;
import org.tidemark.fhir.References;
import org.tidemark.fhir.SessionJudged;
import org.tidemark.store.OutcomeStore;
import org.tidemark.store.OutcomeStore.Went;

/**
 * Keeps, with each decision, how the sessions of its plan went and how many it asks for: what it
 * judged anew, and what it asks where that is new.
 */
@ApplicationScoped
class PlanOutcomes {
  /** After the definitions, which plans need to be read. */
  private static final int AFTER_DEFINITIONS = 3_000;

  private static final int AT_ONCE = 20;

  private final OutcomeStore store;
  private final PlanBook book;
  private final Clinics clinics;

  PlanOutcomes(OutcomeStore store, PlanBook book, Clinics clinics) {
    this.store = store;
    this.book = book;
    this.clinics = clinics;
  }

  /**
   * What a decision has judged.
   *
   * @param sessions the sessions that it judges otherwise than before, or for the first time
   * @param asked sessions a week that the plan asks for from now on
   * @param askedAnew whether that is something else than before
   */
  record Judged(List<SessionJudged> sessions, int asked, boolean askedAnew) {}

  /**
   * What the newest decision of a plan has judged.
   *
   * @param before the plan before it
   * @param after the plan after it
   * @param refolded whether the plan was folded anew from the start
   */
  Judged judged(RunningPlan before, RunningPlan after, boolean refolded) {
    int asked = asked(after).orElse(0);
    return new Judged(
        refolded ? sinceKept(after) : sinceBefore(before, after),
        asked,
        !asked(before).equals(Optional.of(asked)));
  }

  private static Optional<Integer> asked(RunningPlan plan) {
    return plan.state()
        .last()
        .map(Decision::inForce)
        .map(inForce -> Chronicle.askedPerWeek(plan.programme(), inForce));
  }

  private static List<SessionJudged> sinceBefore(RunningPlan before, RunningPlan after) {
    List<Chronicle.Outcome> known = Chronicle.recent(before.programme(), before.state());
    return Chronicle.recent(after.programme(), after.state()).stream()
        .filter(outcome -> !known.contains(outcome))
        .map(PlanOutcomes::judged)
        .toList();
  }

  /** A plan that was folded anew may judge any session otherwise, and some are no more. */
  private List<SessionJudged> sinceKept(RunningPlan after) {
    Map<String, Went> gone = new HashMap<>();
    store.sessions(after.id()).forEach(went -> gone.put(went.type() + "/" + went.id(), went));
    List<SessionJudged> judged = new ArrayList<>();
    for (Chronicle.Outcome outcome : book.chronicle(after).sessions()) {
      SessionJudged now = judged(outcome);
      Went before = gone.remove(now.report());
      if (!went(now).equals(Optional.ofNullable(before))) {
        judged.add(now);
      }
    }
    gone.keySet().stream().sorted().map(SessionJudged::withdrawn).forEach(judged::add);
    return judged;
  }

  private static SessionJudged judged(Chronicle.Outcome outcome) {
    return new SessionJudged(
        outcome.source().type() + "/" + outcome.source().id(),
        Optional.of(new SessionJudged.Went(outcome.at(), outcome.response(), outcome.leading())));
  }

  private static Optional<Went> went(SessionJudged judged) {
    return judged
        .went()
        .map(
            went ->
                new Went(
                    References.typeOf(judged.report()),
                    References.idOf(judged.report()),
                    went.start().toLocalDate(),
                    went.response().code(),
                    went.leading()));
  }

  /** Keeps what a decision has judged, as of its time. */
  void keep(String planId, OffsetDateTime asOf, Judged judged) {
    for (SessionJudged session : judged.sessions()) {
      went(session)
          .ifPresentOrElse(
              went -> store.keep(planId, went),
              () ->
                  store.drop(
                      planId,
                      References.typeOf(session.report()),
                      References.idOf(session.report())));
    }
    if (judged.askedAnew()) {
      store.ask(planId, asOf.toLocalDate(), judged.asked());
    }
  }

  /** Keeps everything about a plan that comes from elsewhere, in the place of what was known. */
  void keepAll(RunningPlan plan) {
    store.dropAll(plan.id());
    Chronicle chronicle = book.chronicle(plan);
    chronicle.sessions().stream()
        .map(PlanOutcomes::judged)
        .flatMap(judged -> went(judged).stream())
        .forEach(went -> store.keep(plan.id(), went));
    int before = -1;
    for (Decision decision : chronicle.changes()) {
      int asked = Chronicle.askedPerWeek(plan.programme(), decision.inForce());
      LocalDate day = decision.asOf().toLocalDate();
      if (asked != before) {
        store.ask(plan.id(), day, asked);
        before = asked;
      }
    }
  }

  /** Keeps what an earlier version of the service has not kept. */
  void fill(@Observes @Priority(AFTER_DEFINITIONS) StartupEvent start) {
    clinics.each(this::fill);
  }

  private void fill() {
    Optional<String> after = Optional.of("");
    while (after.isPresent()) {
      String from = after.get();
      after = QuarkusTransaction.requiringNew().call(() -> fill(from));
    }
  }

  private Optional<String> fill(String after) {
    List<String> some = store.unknown(after, AT_ONCE);
    some.forEach(id -> book.find(id).ifPresent(this::keepAll));
    return some.stream().reduce((one, next) -> next);
  }
}
