package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import jakarta.transaction.TransactionSynchronizationRegistry;
import java.time.Clock;
import java.util.Collection;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.DetectedIssue;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.Subscription;
import org.hl7.fhir.r4.model.Task;
import org.tidemark.application.Issued.GoalRecord;
import org.tidemark.fhir.Codes;
import org.tidemark.fhir.References;
import org.tidemark.fhir.SearchParameters;
import org.tidemark.fhir.SubscriptionReader;
import org.tidemark.fhir.SubscriptionReader.Read;
import org.tidemark.fhir.Topic;
import org.tidemark.store.ResourceStore;
import org.tidemark.store.SubscriptionStore;
import org.tidemark.store.SubscriptionStore.Event;

/**
 * Writes what has happened to the queues of the subscriptions that wait for it, in the transaction
 * in which it happens. However often a transaction writes a record, it is one event.
 */
@ApplicationScoped
class Outbox {
  private static final String WRITTEN = "tidemark.outbox";

  private final SubscriptionStore store;
  private final ResourceStore resources;
  private final Searching searching;
  private final SearchParameters parameters;
  private final References references;
  private final Records records;
  private final PlanBook book;
  private final TransactionSynchronizationRegistry transactions;
  private final Clock clock;
  private final jakarta.enterprise.event.Event<PlanWritten> planWritten;

  Outbox(
      SubscriptionStore store,
      ResourceStore resources,
      Searching searching,
      SearchParameters parameters,
      References references,
      Records records,
      PlanBook book,
      TransactionSynchronizationRegistry transactions,
      Clock clock,
      jakarta.enterprise.event.Event<PlanWritten> planWritten) {
    this.planWritten = planWritten;
    this.store = store;
    this.resources = resources;
    this.searching = searching;
    this.parameters = parameters;
    this.references = references;
    this.records = records;
    this.book = book;
    this.transactions = transactions;
    this.clock = clock;
  }

  /**
   * A record that the transaction has written.
   *
   * @param resource as it stands now
   * @param former the version before the transaction, 0 when there was none
   */
  private record Changed(Resource resource, long former) {}

  /** Takes note of a version that was written. */
  void wrote(Resource resource, long former) {
    String reference = reference(resource);
    written()
        .merge(
            reference,
            new Changed(resource, former),
            (before, now) -> new Changed(now.resource(), before.former()));
  }

  /** What the transaction has last written of a record; empty when it has written none of it. */
  Optional<Resource> last(String type, String id) {
    return Optional.ofNullable(written().get(type + "/" + id)).map(Changed::resource);
  }

  @SuppressWarnings("unchecked")
  private Map<String, Changed> written() {
    Map<String, Changed> written = (Map<String, Changed>) transactions.getResource(WRITTEN);
    if (written == null) {
      written = new LinkedHashMap<>();
      transactions.putResource(WRITTEN, written);
    }
    return written;
  }

  /** Writes the events of the transaction, at its end. */
  void flush() {
    Map<String, Changed> all = new LinkedHashMap<>(written());
    written().clear();
    tellOfPlans(all.values());
    Set<String> awaited = new LinkedHashSet<>();
    all.values()
        .forEach(
            changed -> {
              String type = changed.resource().fhirType();
              awaited.add(Subscriptions.awaiting(type));
              for (Topic topic : Topic.values()) {
                if (topic.focus().equals(type)) {
                  awaited.add(topic.url());
                }
              }
            });
    if (awaited.isEmpty()) {
      return;
    }
    for (String id : store.waitingFor(awaited)) {
      Subscription subscription = records.find(Subscription.class, id).orElseThrow();
      Read wanted = SubscriptionReader.read(subscription);
      all.values().stream()
          .filter(changed -> isFor(wanted, changed))
          .forEach(changed -> store.add(id, event(changed.resource())));
    }
  }

  private void tellOfPlans(Collection<Changed> all) {
    Set<String> subjects =
        all.stream()
            .map(Changed::resource)
            .filter(resource -> PlanWritten.TYPES.contains(resource.fhirType()))
            .map(this::subject)
            .filter(subject -> !subject.isEmpty())
            .collect(Collectors.toSet());
    if (!subjects.isEmpty()) {
      planWritten.fire(new PlanWritten(subjects));
    }
  }

  private Event event(Resource resource) {
    return new Event(
        ResourceStore.newId(),
        0,
        clock.millis(),
        resource.fhirType(),
        resource.getIdElement().getIdPart(),
        Records.version(resource),
        false);
  }

  private boolean isFor(Read wanted, Changed changed) {
    if (wanted.search().isPresent()) {
      return matches(wanted.search().get(), changed.resource());
    }
    Topic topic = wanted.topic().orElseThrow();
    return topic.focus().equals(changed.resource().fhirType())
        && happened(topic, changed)
        && wanted
            .patient()
            .map(patient -> references.normal(patient).equals(subject(changed.resource())))
            .orElse(true)
        && wanted.plan().map(plan -> isOf(plan, changed.resource())).orElse(true);
  }

  private boolean matches(String search, Resource resource) {
    String type = search.split("\\?", 2)[0];
    if (!type.equals(resource.fhirType())) {
      return false;
    }
    Map<String, List<String>> given = new LinkedHashMap<>(Subscriptions.parameters(search));
    given.put("_id", List.of(resource.getIdElement().getIdPart()));
    return !resources.search(searching.read(type, given).limitedTo(1)).isEmpty();
  }

  private boolean happened(Topic topic, Changed changed) {
    Resource resource = changed.resource();
    return switch (topic) {
      case PLAN_CHANGED -> book.find(resource.getIdElement().getIdPart()).isPresent();
      case SIGN_OFF_WAITING ->
          changed.former() == 0
              && ((Task) resource).getStatus() == Task.TaskStatus.REQUESTED
              && ((Task) resource).getCode().hasCoding(Codes.TASK_CODE, "approve");
      case WARNING_RAISED ->
          changed.former() == 0
              && ((DetectedIssue) resource).getStatus() == DetectedIssue.DetectedIssueStatus.FINAL;
      case GOAL_REACHED ->
          isReached((Goal) resource)
              && (changed.former() == 0
                  || !records
                      .findVersion("Goal", resource.getIdElement().getIdPart(), changed.former())
                      .map(before -> isReached((Goal) before))
                      .orElse(false));
    };
  }

  private static boolean isReached(Goal goal) {
    return goal.getAchievementStatus().hasCoding(Codes.GOAL_ACHIEVEMENT, "achieved")
        || goal.getAchievementStatus().hasCoding(Codes.GOAL_ACHIEVEMENT, "sustaining");
  }

  private String subject(Resource resource) {
    return Optional.ofNullable(IndexedRecord.of(resource, parameters).subject()).orElse("");
  }

  private boolean isOf(String plan, Resource resource) {
    String id = resource.getIdElement().getIdPart();
    return resource instanceof CarePlan
        ? id.equals(plan)
        : book.find(plan).map(RunningPlan::issued).filter(issued -> issued(issued, id)).isPresent();
  }

  private static boolean issued(Issued issued, String id) {
    return issued.waiting().filter(waiting -> waiting.task().equals(id)).isPresent()
        || issued.concern().filter(concern -> concern.issue().equals(id)).isPresent()
        || issued.goals().values().stream().map(GoalRecord::id).anyMatch(id::equals);
  }

  private static String reference(Resource resource) {
    return resource.fhirType() + "/" + resource.getIdElement().getIdPart();
  }
}
