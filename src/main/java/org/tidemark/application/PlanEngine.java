package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Event;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.HashMap;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.function.Function;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.Provenance;
import org.hl7.fhir.r4.model.Questionnaire;
import org.hl7.fhir.r4.model.QuestionnaireResponse;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.RiskAssessment;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Subscription;
import org.hl7.fhir.r4.model.Task;
import org.tidemark.access.Action;
import org.tidemark.application.PlanOutcomes.Judged;
import org.tidemark.decision.Fact;
import org.tidemark.decision.FactSource;
import org.tidemark.decision.Verdict;
import org.tidemark.fhir.Problem;

/**
 * What the service makes of the writes of clients: definitions are checked, people are enrolled,
 * reports and the acts of clinicians become facts, and each plan they concern is reviewed once.
 */
@ApplicationScoped
class PlanEngine implements Consequences {
  private final Programmes programmes;
  private final Enrolling enrolling;
  private final Reports reports;
  private final Forms forms;
  private final ClinicianActs acts;
  private final GoalActs goals;
  private final PlanBook book;
  private final Issuing issuing;
  private final PlanOutcomes outcomes;
  private final Caseload caseload;
  private final Guard guard;
  private final Subscriptions subscriptions;
  private final Event<Verdict> decisions;

  PlanEngine(
      Programmes programmes,
      Enrolling enrolling,
      Reports reports,
      Forms forms,
      ClinicianActs acts,
      GoalActs goals,
      PlanBook book,
      Issuing issuing,
      PlanOutcomes outcomes,
      Caseload caseload,
      Guard guard,
      Subscriptions subscriptions,
      Event<Verdict> decisions) {
    this.decisions = decisions;
    this.guard = guard;
    this.programmes = programmes;
    this.enrolling = enrolling;
    this.reports = reports;
    this.forms = forms;
    this.acts = acts;
    this.goals = goals;
    this.book = book;
    this.issuing = issuing;
    this.outcomes = outcomes;
    this.caseload = caseload;
    this.subscriptions = subscriptions;
  }

  @Override
  public Resource admit(Resource incoming, Optional<Resource> former) {
    former.ifPresent(PlanEngine::requireNoTrail);
    requireNotAsOurs(incoming, former);
    if (incoming instanceof CarePlan plan) {
      return enrolling.admit(plan, former.map(CarePlan.class::cast));
    } else if (incoming instanceof Observation observation) {
      reports.admit(observation, former.map(Observation.class::cast));
    } else if (incoming instanceof QuestionnaireResponse form) {
      forms.admit(form);
    } else if (incoming instanceof Flag flag) {
      guard.requireStaff(former.isPresent() ? Action.UPDATE : Action.CREATE, flag);
      reports.admit(flag);
    } else if (incoming instanceof Task task) {
      acts.admit(task, former.map(Task.class::cast));
    } else if (incoming instanceof ServiceRequest request) {
      acts.admit(request, former.map(ServiceRequest.class::cast));
    } else if (incoming instanceof Goal goal) {
      return goals.admit(goal, former.map(Goal.class::cast));
    } else if (incoming instanceof PlanDefinition definition) {
      programmes.admit(definition, former.map(PlanDefinition.class::cast));
    } else if (incoming instanceof ActivityDefinition definition) {
      programmes.admit(definition, former.map(ActivityDefinition.class::cast));
    } else if (incoming instanceof Questionnaire questions) {
      programmes.admit(questions, former.map(Questionnaire.class::cast));
    } else if (incoming instanceof Subscription subscription) {
      return subscriptions.admit(subscription);
    }
    return incoming;
  }

  @Override
  public void release(Resource former, Optional<String> subject) {
    requireNoTrail(former);
    if (former instanceof Flag) {
      guard.requireStaff(Action.DELETE, former);
    }
    if (former instanceof Subscription) {
      subscriptions.drop(former.getIdElement().getIdPart());
    }
    subject
        .map(book::ofSubject)
        .orElse(List.of())
        .forEach(
            plan -> {
              if (!book.said(plan.id(), former.fhirType(), former.getIdPart()).isEmpty()) {
                throw Problem.of(
                    Problem.Kind.IN_USE,
                    "CarePlan/%s rests on it. To withdraw it, set its status to entered-in-error."
                        .formatted(plan.id()),
                    former.fhirType());
              }
            });
  }

  /** What the service has put on record about its decisions is not rewritten by anyone. */
  private static void requireNoTrail(Resource former) {
    boolean trail =
        former instanceof GuidanceResponse
            || former instanceof Provenance
            || former instanceof RiskAssessment;
    if (trail && isOurs(former)) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE, "The record of a decision does not change.", former.fhirType());
    }
  }

  /** Nobody else says that the service has decided or asked something. */
  private static void requireNotAsOurs(Resource incoming, Optional<Resource> former) {
    if (isOurs(incoming) && former.filter(PlanEngine::isOurs).isEmpty()) {
      throw Problem.of(
          Problem.Kind.BUSINESS_RULE,
          "Only the service itself writes a %s in its own name.".formatted(incoming.fhirType()),
          incoming.fhirType());
    }
  }

  /** Whether a record says that the service has written it. */
  private static boolean isOurs(Resource resource) {
    if (resource instanceof GuidanceResponse guidance) {
      return isEngine(guidance.getPerformer());
    } else if (resource instanceof RiskAssessment risk) {
      return isEngine(risk.getPerformer());
    } else if (resource instanceof ServiceRequest order) {
      return isEngine(order.getRequester());
    } else if (resource instanceof Task task) {
      return isEngine(task.getRequester());
    }
    return resource instanceof Provenance trail
        && trail.getAgent().stream().anyMatch(agent -> isEngine(agent.getWho()));
  }

  private static boolean isEngine(Reference reference) {
    return ("Device/" + Issuing.ENGINE).equals(reference.getReference());
  }

  @Override
  public void follow(List<Change> changes) {
    Touched touched = new Touched();
    List<Change> inOrder = new ArrayList<>(changes);
    inOrder.sort(Comparator.comparingInt(PlanEngine::rank));
    for (Change change : inOrder) {
      try {
        follow(change, touched);
      } catch (Problem problem) {
        throw change.named(problem);
      }
    }
    touched.plans().forEach(this::review);
  }

  private void follow(Change change, Touched touched) {
    Resource resource = change.resource();
    if (resource instanceof CarePlan plan) {
      enrolling.follow(plan, touched);
    } else if (resource instanceof Observation observation) {
      reports.follow(observation, change.former().map(Observation.class::cast), touched);
    } else if (resource instanceof QuestionnaireResponse form) {
      forms.follow(form, change.former().map(QuestionnaireResponse.class::cast), touched);
    } else if (resource instanceof Flag flag) {
      reports.follow(flag, change.former().map(Flag.class::cast), touched);
    } else if (resource instanceof Task task) {
      acts.follow(task, touched);
    } else if (resource instanceof ServiceRequest request) {
      acts.follow(request, touched);
    } else if (resource instanceof Goal goal && change.former().isPresent()) {
      goals.follow(goal, touched);
    } else if (resource instanceof Patient patient && change.former().isPresent()) {
      caseload.rename(patient);
    } else if (resource instanceof Subscription subscription) {
      subscriptions.follow(subscription);
    }
  }

  /** Plans come before what is reported about them. */
  private static int rank(Change change) {
    return change.resource() instanceof CarePlan ? 0 : 1;
  }

  private void review(String planId, Touched.What what) {
    RunningPlan before = book.find(planId).orElseThrow();
    if (!before.open()) {
      return;
    }
    List<FactSource> withdrawn = book.withdrawn(before, what.sayings());
    PlanBook.Taken taken = keptBack(book.take(before, what.sayings()));
    RunningPlan after = taken.plan();
    reports.doubt(after, taken.contradictions());
    boolean decided = !after.state().equals(before.state());
    if (decided || what.rewritten()) {
      Optional<String> clinician =
          what.sayings().stream()
              .flatMap(saying -> saying.facts().stream())
              .filter(PlanEngine::isAct)
              .findFirst()
              .flatMap(act -> guard.clinician());
      Judged judged = outcomes.judged(before, after, taken.refolded());
      book.save(issuing.issue(after, decided, withdrawn, clinician, judged));
    }
    if (decided) {
      after.state().last().ifPresent(decision -> decisions.fire(decision.verdict()));
    }
  }

  /** Whether a clinician answers for a fact. */
  private static boolean isAct(Fact fact) {
    return fact instanceof Fact.SignedOff
        || fact instanceof Fact.Resumed
        || fact instanceof Fact.Overridden
        || fact instanceof Fact.Held;
  }

  /**
   * Reports that come together may lead several steps up at once; then what is in force stays, and
   * a clinician is asked.
   */
  private PlanBook.Taken keptBack(PlanBook.Taken taken) {
    RunningPlan plan = taken.plan();
    Optional<Fact.CaughtUp> caughtUp = CatchUp.of(plan);
    if (caughtUp.isEmpty()) {
      return taken;
    }
    List<Fact> said = new ArrayList<>(book.said(plan.id(), "CarePlan", plan.id()));
    said.add(caughtUp.get());
    PlanBook.Taken kept =
        book.take(plan, List.of(new PlanBook.Saying(caughtUp.get().source(), said)));
    return new PlanBook.Taken(
        kept.plan(), taken.refolded() || kept.refolded(), taken.contradictions());
  }

  /** The plans that one request concerns, with what its records say about each. */
  static final class Touched {
    private final Map<String, What> plans = new LinkedHashMap<>();
    private final Map<String, List<RunningPlan>> ofSubjects = new HashMap<>();
    private final Map<String, Optional<Patient>> people = new HashMap<>();

    /**
     * What concerns one plan.
     *
     * @param sayings what records say now
     * @param rewritten whether the CarePlan itself was written by a client
     */
    record What(List<PlanBook.Saying> sayings, boolean rewritten) {}

    /** The plans of a person, read once for all the reports of a request. */
    List<RunningPlan> ofSubject(String subject, Function<String, List<RunningPlan>> read) {
      return ofSubjects.computeIfAbsent(subject, read);
    }

    /** The record of a person, read once. */
    Optional<Patient> person(String subject, Function<String, Optional<Patient>> read) {
      return people.computeIfAbsent(subject, read);
    }

    void says(String planId, PlanBook.Saying saying) {
      What what = plans.getOrDefault(planId, new What(List.of(), false));
      List<PlanBook.Saying> all = new ArrayList<>(what.sayings());
      all.removeIf(other -> other.type().equals(saying.type()) && other.id().equals(saying.id()));
      all.add(saying);
      plans.put(planId, new What(all, what.rewritten()));
    }

    void rewritten(String planId) {
      What what = plans.getOrDefault(planId, new What(List.of(), false));
      plans.put(planId, new What(what.sayings(), true));
    }

    Map<String, What> plans() {
      return plans;
    }
  }
}
