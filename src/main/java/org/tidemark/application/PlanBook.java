package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.time.Clock;
import java.time.Instant;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.HashSet;
import java.util.IdentityHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import org.tidemark.decision.Chronicle;
import org.tidemark.decision.Contradiction;
import org.tidemark.decision.Fact;
import org.tidemark.decision.FactSource;
import org.tidemark.decision.PlanState;
import org.tidemark.decision.Review;
import org.tidemark.programme.Programme;
import org.tidemark.store.PlanStore;
import org.tidemark.store.StoredFact;
import org.tidemark.store.StoredPlan;

/**
 * Keeps each plan folded up to its newest fact. A new fact moves the fold one step forward; a fact
 * that comes late, changes or is withdrawn replays the plan from the start. Both ways lead to the
 * same plan.
 */
@ApplicationScoped
class PlanBook {
  private final PlanStore store;
  private final Programmes programmes;
  private final Caseload caseload;
  private final Clock clock;

  PlanBook(PlanStore store, Programmes programmes, Caseload caseload, Clock clock) {
    this.store = store;
    this.programmes = programmes;
    this.caseload = caseload;
    this.clock = clock;
  }

  Optional<RunningPlan> find(String planId) {
    return store.find(planId).map(this::running);
  }

  List<RunningPlan> ofSubject(String subject) {
    return store.ofSubject(subject).stream().map(this::running).toList();
  }

  /** Opens a plan that rests on these facts. */
  RunningPlan open(
      String planId, String subject, Programme programme, String status, Fact.Enrolled enrolled) {
    RunningPlan plan =
        new RunningPlan(
            planId, subject, enrolled.side(), programme, status, PlanState.EMPTY, Issued.NOTHING);
    store.insert(plan.stored());
    return plan;
  }

  /** Keeps a plan, and the list of those who need a clinician in step with it. */
  void save(RunningPlan plan) {
    store.update(plan.stored());
    caseload.keep(plan);
  }

  /** Remembers that a prescription was issued for a plan. */
  void issued(String orderId, String planId) {
    store.issued(orderId, planId);
  }

  /**
   * The plan that a prescription was issued for, in force or not; empty when the service did not
   * issue it.
   */
  Optional<RunningPlan> ofOrder(String orderId) {
    return store.planOfOrder(orderId).flatMap(this::find);
  }

  /** The prescriptions that were issued for a plan, in force or not, by their ids. */
  Set<String> orders(String planId) {
    return new HashSet<>(store.orders(planId));
  }

  /** Everything that records say about a plan, as it is kept, in the order of its arrival. */
  List<StoredFact> facts(String planId) {
    return store.facts(planId);
  }

  /**
   * Takes over a plan as another clinic has kept it, in the place of what was taken over before.
   *
   * @param plan the plan, without its state
   * @param facts everything that records say about it
   * @param orders every prescription that was issued for it
   * @return the plan, folded up to its newest fact
   */
  RunningPlan takeOver(RunningPlan plan, List<StoredFact> facts, Set<String> orders) {
    store.replaceAllFacts(plan.id(), facts);
    Set<String> known = orders(plan.id());
    orders.stream().filter(order -> !known.contains(order)).forEach(o -> issued(o, plan.id()));
    RunningPlan folded = plan.with(refold(plan));
    if (store.find(plan.id()).isEmpty()) {
      store.insert(folded.stored());
    }
    save(folded);
    return folded;
  }

  /** The plan folded anew from everything that is known, without keeping it. */
  PlanState refold(RunningPlan plan) {
    return Review.replay(plan.programme(), known(plan.id()));
  }

  /** The plan folded anew from what is known of the time up to an instant, without keeping it. */
  PlanState asOf(RunningPlan plan, Instant at) {
    return Review.replay(
        plan.programme(),
        known(plan.id()).stream().filter(fact -> !fact.at().toInstant().isAfter(at)).toList());
  }

  /** How the plan has gone, from everything that is known. Costs a replay. */
  Chronicle chronicle(RunningPlan plan) {
    return Chronicle.of(plan.programme(), known(plan.id()));
  }

  /**
   * A plan with what records say now.
   *
   * @param plan the plan folded up to its newest fact; the same when nothing is new
   * @param refolded whether it was folded anew from the start
   * @param contradictions what they say otherwise than other records of the same moments
   */
  record Taken(RunningPlan plan, boolean refolded, List<Contradiction> contradictions) {}

  /**
   * Takes in what records say now about a plan.
   *
   * @param plan the plan as it stands
   * @param saying what each record says now, in place of what it said before
   */
  Taken take(RunningPlan plan, List<Saying> saying) {
    boolean rewritten = false;
    List<Fact> fresh = new ArrayList<>();
    List<StoredFact> added = new ArrayList<>();
    // In the order that facts of one moment of arrival are read back, so that of two alike the same
    // one counts.
    List<Saying> inOrder =
        saying.stream()
            .sorted(Comparator.comparing(Saying::type).thenComparing(Saying::id))
            .toList();
    Map<String, List<StoredFact>> said = said(plan.id(), inOrder);
    Map<Saying, List<StoredFact>> says = new IdentityHashMap<>();
    inOrder.forEach(record -> says.put(record, stored(record.facts())));
    List<StoredFact> ofTheirMoments =
        store.factsAt(
            plan.id(),
            says.values().stream()
                .flatMap(List::stream)
                .map(StoredFact::happenedMs)
                .collect(Collectors.toSet()));
    Set<String> known =
        ofTheirMoments.stream()
            .map(StoredFact::content)
            .collect(Collectors.toCollection(HashSet::new));
    List<Contradiction> contradictions = contradictions(inOrder, ofTheirMoments);
    for (Saying record : inOrder) {
      List<StoredFact> before = said.getOrDefault(record.type() + "/" + record.id(), List.of());
      List<StoredFact> now = says.get(record);
      if (sameContent(before, now)) {
        continue;
      }
      if (before.isEmpty()) {
        for (int i = 0; i < now.size(); i++) {
          if (known.add(now.get(i).content())) {
            fresh.add(record.facts().get(i));
          }
        }
        added.addAll(now);
      } else {
        rewritten = true;
        store.replaceFacts(plan.id(), record.type(), record.id(), now);
      }
    }
    store.addFacts(plan.id(), added);
    if (rewritten) {
      return new Taken(plan.with(refold(plan)), true, contradictions);
    }
    PlanState state = plan.state();
    for (Fact fact : fresh.stream().sorted(Fact.CLINICAL_ORDER).toList()) {
      if (!state.isFollowedBy(fact)) {
        return new Taken(plan.with(refold(plan)), true, contradictions);
      }
      state = Review.advance(plan.programme(), state, fact);
    }
    return new Taken(plan.with(state), false, contradictions);
  }

  /** What records say otherwise than others do, those that came before or come with them. */
  private static List<Contradiction> contradictions(List<Saying> sayings, List<StoredFact> before) {
    Set<String> now =
        sayings.stream()
            .map(record -> record.type() + "/" + record.id())
            .collect(Collectors.toSet());
    Map<Instant, List<Fact>> moments =
        before.stream()
            .filter(fact -> !now.contains(fact.sourceType() + "/" + fact.sourceId()))
            .map(PlanCodec::fact)
            .collect(Collectors.groupingBy(fact -> fact.at().toInstant()));
    List<Contradiction> contradictions = new ArrayList<>();
    for (Saying record : sayings) {
      for (Fact fact : record.facts()) {
        List<Fact> others =
            moments.computeIfAbsent(fact.at().toInstant(), moment -> new ArrayList<>());
        others.stream()
            .filter(other -> Contradiction.between(fact, other))
            .findFirst()
            .ifPresent(other -> contradictions.add(new Contradiction(fact, other)));
        others.add(fact);
      }
    }
    return contradictions;
  }

  /** What records said when they were last read, by their references. */
  private Map<String, List<StoredFact>> said(String planId, List<Saying> records) {
    Map<String, Set<String>> ids =
        records.stream()
            .collect(
                Collectors.groupingBy(
                    Saying::type, Collectors.mapping(Saying::id, Collectors.toSet())));
    return ids.entrySet().stream()
        .flatMap(ofType -> store.factsFrom(planId, ofType.getKey(), ofType.getValue()).stream())
        .collect(Collectors.groupingBy(fact -> fact.sourceType() + "/" + fact.sourceId()));
  }

  /**
   * What one record says now.
   *
   * @param record the record in its present version
   * @param facts what it says; empty when it says nothing any more
   */
  record Saying(FactSource record, List<Fact> facts) {
    String type() {
      return record.type();
    }

    String id() {
      return record.id();
    }
  }

  /** The records that say nothing any more but did before. */
  List<FactSource> withdrawn(RunningPlan plan, List<Saying> sayings) {
    return sayings.stream()
        .filter(saying -> saying.facts().isEmpty())
        .filter(saying -> !said(plan.id(), saying.type(), saying.id()).isEmpty())
        .map(Saying::record)
        .toList();
  }

  /** What a record said about a plan when it was last read. */
  List<Fact> said(String planId, String type, String id) {
    return store.factsFrom(planId, type, Set.of(id)).stream().map(PlanCodec::fact).toList();
  }

  private List<StoredFact> stored(List<Fact> facts) {
    long now = clock.millis();
    List<StoredFact> stored = new ArrayList<>();
    for (Fact fact : facts) {
      stored.add(PlanCodec.fact(fact, stored.size(), now));
    }
    return stored;
  }

  private static boolean sameContent(List<StoredFact> before, List<StoredFact> now) {
    return before.stream()
        .map(StoredFact::content)
        .toList()
        .equals(now.stream().map(StoredFact::content).toList());
  }

  /**
   * Every fact once: what two records say alike of one moment is taken from the one that came
   * first.
   */
  private List<Fact> known(String planId) {
    Set<String> contents = new HashSet<>();
    return store.facts(planId).stream()
        .sorted(Comparator.comparingLong(StoredFact::arrivedMs))
        .filter(fact -> contents.add(fact.content()))
        .map(PlanCodec::fact)
        .toList();
  }

  private RunningPlan running(StoredPlan stored) {
    return RunningPlan.of(stored, programmes.running(stored.programme()));
  }
}
