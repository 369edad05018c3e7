package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.nio.charset.StandardCharsets;
import java.time.Clock;
import java.util.ArrayList;
import java.util.Date;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.UUID;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.DetectedIssue;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.RiskAssessment;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.ServiceRequest.ServiceRequestStatus;
import org.hl7.fhir.r4.model.Task;
import org.tidemark.application.Issued.Concern;
import org.tidemark.application.Issued.GoalRecord;
import org.tidemark.application.Issued.Order;
import org.tidemark.application.Issued.RangeRecord;
import org.tidemark.application.Issued.Waiting;
import org.tidemark.application.PlanOutcomes.Judged;
import org.tidemark.decision.Decision;
import org.tidemark.decision.FactSource;
import org.tidemark.decision.GoalReading;
import org.tidemark.decision.RangeCourse;
import org.tidemark.decision.RangeFigures;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Verdict;
import org.tidemark.decision.Warning;
import org.tidemark.fhir.CarePlanWriter;
import org.tidemark.fhir.ConcernWriter;
import org.tidemark.fhir.ForecastWriter;
import org.tidemark.fhir.GoalWriter;
import org.tidemark.fhir.GuidanceWriter;
import org.tidemark.fhir.PlanIdentity;
import org.tidemark.fhir.PrescriptionWriter;
import org.tidemark.fhir.ProvenanceWriter;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.programme.Prescription;
import org.tidemark.store.PaperStore;

/**
 * Writes what a decision comes to: new prescriptions in place of those they replace, proposals with
 * their Tasks, goals, warnings, the CarePlan, and the trail. All in the transaction that stored the
 * evidence.
 */
@ApplicationScoped
class Issuing {
  /** Id of the Device that stands for the service. */
  static final String ENGINE = "tidemark-engine";

  /** Id of the Organization that the service acts for. */
  static final String ORGANISATION = "clinic";

  /** A Task that nobody has answered. */
  static final Set<Task.TaskStatus> OPEN =
      Set.of(
          Task.TaskStatus.REQUESTED,
          Task.TaskStatus.RECEIVED,
          Task.TaskStatus.READY,
          Task.TaskStatus.INPROGRESS,
          Task.TaskStatus.ONHOLD);

  private final Records records;
  private final PlanBook book;
  private final Languages languages;
  private final PaperStore papers;
  private final PlanOutcomes outcomes;
  private final Clock clock;

  Issuing(
      Records records,
      PlanBook book,
      Languages languages,
      PaperStore papers,
      PlanOutcomes outcomes,
      Clock clock) {
    this.records = records;
    this.outcomes = outcomes;
    this.papers = papers;
    this.languages = languages;
    this.book = book;
    this.clock = clock;
  }

  /**
   * Writes what the newest decision of a plan comes to.
   *
   * @param plan the plan, folded and with what was issued before
   * @param decided whether the decision is new; one that is not is put on record only where it
   *     changes something
   * @param withdrawn the records that were taken back and so led to it
   * @param clinician the clinician whose act led to it, as a normalised reference
   * @param judged what it has judged
   * @return the plan with what stands issued now
   */
  RunningPlan issue(
      RunningPlan plan,
      boolean decided,
      List<FactSource> withdrawn,
      Optional<String> clinician,
      Judged judged) {
    Optional<Decision> last = plan.state().last();
    return last.isEmpty()
        ? plan
        : new Writing(plan, last.get()).write(decided, withdrawn, clinician, judged);
  }

  /** Ends everything that was issued for a plan that is over. */
  RunningPlan end(RunningPlan plan, ServiceRequestStatus status) {
    for (Order order : plan.issued().orders()) {
      setStatus(order.id(), status);
    }
    plan.issued().waiting().ifPresent(waiting -> withdraw(waiting, ServiceRequestStatus.REVOKED));
    papers.mark(plan.id(), clock.millis());
    return plan.with(
        plan.issued().withOrders(List.of()).withWaiting(Optional.empty()).withCarePlan(""));
  }

  private String setStatus(String id, ServiceRequestStatus status) {
    ServiceRequest order = (ServiceRequest) records.find("ServiceRequest", id).orElseThrow();
    order.setStatus(status);
    return versioned(records.put(order));
  }

  private void withdraw(Waiting waiting, ServiceRequestStatus status) {
    waiting.proposals().forEach(proposal -> setStatus(proposal.id(), status));
    Task task = (Task) records.find("Task", waiting.task()).orElseThrow();
    if (OPEN.contains(task.getStatus())) {
      records.put(task.setStatus(Task.TaskStatus.CANCELLED));
    }
  }

  private static String versioned(Resource resource) {
    return resource.fhirType()
        + "/"
        + resource.getIdPart()
        + "/_history/"
        + resource.getMeta().getVersionId();
  }

  /** A text in a few characters. */
  private static String fingerprint(String text) {
    return UUID.nameUUIDFromBytes(text.getBytes(StandardCharsets.UTF_8)).toString();
  }

  /** The writing of one decision. */
  private final class Writing {
    private final RunningPlan plan;
    private final PlanIdentity identity;
    private final PlanIdentity clinic;
    private final List<String> written = new ArrayList<>();
    private Decision last;
    private Decision because;
    private Issued issued;

    private Writing(RunningPlan plan, Decision last) {
      this.plan = plan;
      this.identity = languages.forPerson(plan);
      this.clinic = languages.forClinic(plan);
      this.last = last;
      this.because = plan.state().because().orElse(last);
      this.issued = plan.issued();
    }

    private RunningPlan write(
        boolean decided, List<FactSource> withdrawn, Optional<String> clinician, Judged judged) {
      ranges();
      boolean standingChanged = orders();
      if (standingChanged) {
        papers.mark(plan.id(), clock.millis());
      }
      proposal();
      goals();
      concern();
      review();
      carePlan();
      if (!decided && written.isEmpty()) {
        return plan.with(issued);
      }
      Decision told = standingChanged ? because : last;
      GuidanceResponse guidance = GuidanceWriter.write(identity, told);
      GuidanceWriter.decided(guidance, identity, judged.asked(), judged.sessions());
      written.add(versioned(records.put(guidance)));
      outcomes.keep(plan.id(), told.asOf(), judged);
      Date now = Date.from(clock.instant());
      records.put(ProvenanceWriter.write(clinic, told, written, withdrawn, clinician, now));
      return plan.with(issued);
    }

    private ServiceRequestStatus standingStatus() {
      return plan.status().equals("draft")
          ? ServiceRequestStatus.DRAFT
          : ServiceRequestStatus.ACTIVE;
    }

    /** Brings the orders in line with what is in force; says whether any was written anew. */
    private boolean orders() {
      List<Prescription> inForce = last.inForce();
      if (inForce.isEmpty()) {
        return suspend();
      }
      boolean changed = false;
      List<Order> kept = new ArrayList<>();
      List<Order> outdated = new ArrayList<>();
      for (Order order : issued.orders()) {
        if (inForce.contains(order.prescription())) {
          reword(order);
          changed |= !order.status().equals(standingStatus().toCode());
          kept.add(inStatus(order, standingStatus()));
        } else {
          outdated.add(order);
        }
      }
      List<Prescription> missing = new ArrayList<>(inForce);
      missing.removeAll(kept.stream().map(Order::prescription).toList());
      for (Prescription prescription : missing) {
        kept.add(issueAnew(prescription, outdated));
        changed = true;
      }
      for (Order order : outdated) {
        written.add(setStatus(order.id(), outcomeOfReplaced()));
        changed = true;
      }
      if (!missing.isEmpty() || !outdated.isEmpty()) {
        issued = issued.withBefore(before());
      }
      issued = issued.withOrders(inOrder(kept, inForce));
      return changed;
    }

    /** What stood before the easing that this decision makes, or an earlier one that lasts. */
    private List<Prescription> before() {
      if (because.verdict() != Verdict.REGRESS) {
        return List.of();
      }
      return issued.before().isEmpty()
          ? issued.orders().stream().map(Order::prescription).toList()
          : issued.before();
    }

    /** The words of a prescription that a clinician has just set otherwise say what it asks now. */
    private void reword(Order order) {
      boolean byHand =
          last.reasons().contains(Reason.CLINICIAN_OVERRIDE)
              && last.restsOn().stream()
                  .anyMatch(s -> s.type().equals("ServiceRequest") && s.id().equals(order.id()));
      if (!byHand) {
        return;
      }
      ServiceRequest request =
          (ServiceRequest) records.find("ServiceRequest", order.id()).orElseThrow();
      Optional<Resource> former =
          records.findVersion("ServiceRequest", order.id(), Records.version(request) - 1);
      if (former.isPresent()
          && PrescriptionWriter.reword(
              request, (ServiceRequest) former.get(), identity, order.prescription(), last)) {
        written.add(versioned(records.put(request)));
      }
    }

    private boolean suspend() {
      boolean changed = false;
      List<Order> held = new ArrayList<>();
      for (Order order : issued.orders()) {
        changed |= !order.status().equals(ServiceRequestStatus.ONHOLD.toCode());
        held.add(inStatus(order, ServiceRequestStatus.ONHOLD));
      }
      issued = issued.withOrders(held);
      return changed;
    }

    private Order inStatus(Order order, ServiceRequestStatus status) {
      if (!order.status().equals(status.toCode())) {
        written.add(setStatus(order.id(), status));
      }
      return new Order(order.id(), order.prescription(), status.toCode());
    }

    private Order issueAnew(Prescription prescription, List<Order> outdated) {
      Optional<String> replaced =
          outdated.stream()
              .filter(order -> order.prescription().variation().equals(prescription.variation()))
              .findFirst()
              .or(() -> outdated.stream().findFirst())
              .map(Order::id);
      Optional<String> proposal =
          issued.waiting().stream()
              .flatMap(waiting -> waiting.proposals().stream())
              .filter(order -> order.prescription().equals(prescription))
              .map(Order::id)
              .findFirst();
      Resource order =
          records.put(
              PrescriptionWriter.write(
                  identity,
                  prescription,
                  because,
                  PrescriptionWriter.Kind.ORDER,
                  standingStatus(),
                  replaced,
                  proposal));
      written.add(versioned(order));
      book.issued(order.getIdPart(), plan.id());
      return new Order(order.getIdPart(), prescription, standingStatus().toCode());
    }

    /** What went well is completed; what was taken back is revoked. */
    private ServiceRequestStatus outcomeOfReplaced() {
      return because.verdict() == Verdict.PROGRESS || because.verdict() == Verdict.COMPLETE
          ? ServiceRequestStatus.COMPLETED
          : ServiceRequestStatus.REVOKED;
    }

    private List<Order> inOrder(List<Order> orders, List<Prescription> inForce) {
      return orders.stream()
          .sorted(java.util.Comparator.comparingInt(order -> inForce.indexOf(order.prescription())))
          .toList();
    }

    private void proposal() {
      List<Prescription> wanted = last.proposal();
      Optional<Waiting> waiting = issued.waiting();
      if (waiting.isPresent() && !waiting.get().full().equals(wanted)) {
        boolean accepted = waiting.get().full().equals(last.inForce());
        withdraw(
            waiting.get(),
            accepted ? ServiceRequestStatus.COMPLETED : ServiceRequestStatus.REVOKED);
        issued = issued.withWaiting(Optional.empty());
      }
      if (!wanted.isEmpty() && issued.waiting().isEmpty()) {
        issued = issued.withWaiting(Optional.of(propose(wanted)));
      }
    }

    private Waiting propose(List<Prescription> wanted) {
      List<Order> proposals = new ArrayList<>();
      for (Prescription prescription : wanted) {
        if (last.inForce().contains(prescription)) {
          continue;
        }
        Optional<String> replaces =
            issued.orders().stream()
                .filter(order -> order.prescription().variation().equals(prescription.variation()))
                .findFirst()
                .or(() -> issued.orders().stream().findFirst())
                .map(Order::id);
        Resource proposal =
            records.put(
                PrescriptionWriter.write(
                    identity,
                    prescription,
                    last,
                    PrescriptionWriter.Kind.PROPOSAL,
                    ServiceRequestStatus.ACTIVE,
                    replaces,
                    Optional.empty()));
        written.add(versioned(proposal));
        book.issued(proposal.getIdPart(), plan.id());
        proposals.add(
            new Order(proposal.getIdPart(), prescription, ServiceRequestStatus.ACTIVE.toCode()));
      }
      Resource task =
          records.put(
              ConcernWriter.approval(clinic, "ServiceRequest/" + proposals.get(0).id(), last));
      written.add(versioned(task));
      return new Waiting(proposals, wanted, task.getIdPart());
    }

    /**
     * Looks at the ranges that the goals are about, anew where a reading or the target has changed,
     * and tells the decision how they have gone.
     */
    private void ranges() {
      Map<String, RangeRecord> ranges = new LinkedHashMap<>();
      for (GoalDefinition definition : identity.programme().goals()) {
        Optional<RangeRecord> before = Optional.ofNullable(issued.ranges().get(definition.code()));
        Optional<String> from =
            RangeCourse.from(definition, plan.state()).map(Issuing::fingerprint);
        if (from.isPresent()
            && before.filter(known -> known.from().equals(from.get())).isPresent()) {
          ranges.put(definition.code(), before.get());
        } else if (from.isPresent()) {
          RangeCourse course = RangeCourse.read(definition, plan.state()).orElseThrow();
          Resource forecast =
              records.put(
                  ForecastWriter.write(identity, course, before.map(known -> forecast(known))));
          written.add(versioned(forecast));
          ranges.put(
              definition.code(),
              new RangeRecord(forecast.getIdPart(), from.get(), course.figures()));
        } else {
          before.ifPresent(
              known ->
                  written.add(versioned(records.put(ForecastWriter.withdraw(forecast(known))))));
        }
      }
      issued = issued.withRanges(ranges);
      List<RangeFigures> figures = ranges.values().stream().map(RangeRecord::figures).toList();
      last = last.with(figures);
      because = because.with(figures);
    }

    private RiskAssessment forecast(RangeRecord known) {
      return (RiskAssessment) records.find("RiskAssessment", known.forecast()).orElseThrow();
    }

    private void goals() {
      Map<String, GoalRecord> goals = new LinkedHashMap<>(issued.goals());
      for (GoalDefinition definition : identity.programme().goals()) {
        GoalReading reading = GoalReading.read(definition, plan.state());
        GoalRecord before = goals.get(definition.code());
        Optional<RangeFigures> range =
            Optional.ofNullable(issued.ranges().get(definition.code())).map(RangeRecord::figures);
        String from = reading + "/" + range.map(RangeFigures::change);
        if (before != null && before.from().equals(from)) {
          continue;
        }
        Optional<Goal> former =
            Optional.ofNullable(before)
                .flatMap(known -> records.find("Goal", known.id()))
                .map(Goal.class::cast);
        Resource goal = GoalWriter.write(identity, reading, range, former, last.asOf());
        if (former.isEmpty() || !goal.equalsDeep(former.get())) {
          written.add(versioned(records.put(goal)));
        }
        goals.put(definition.code(), new GoalRecord(goal.getIdPart(), from));
      }
      issued = issued.withGoals(goals);
    }

    private void concern() {
      List<String> warnings = last.warnings().stream().map(Warning::code).toList();
      if (warnings.isEmpty()) {
        issued.concern().ifPresent(this::lift);
        issued = issued.withConcern(Optional.empty());
      } else if (issued.concern().filter(known -> known.warnings().equals(warnings)).isEmpty()) {
        issued.concern().ifPresent(former -> close(former.task()));
        Resource issue = records.put(ConcernWriter.warning(clinic, last));
        Resource task =
            records.put(ConcernWriter.review(clinic, last, "DetectedIssue/" + issue.getIdPart()));
        written.add(versioned(issue));
        written.add(versioned(task));
        issued =
            issued.withConcern(
                Optional.of(new Concern(warnings, issue.getIdPart(), task.getIdPart())));
      }
    }

    /**
     * A warning is open no more: a clinician has completed its Task, or its report was withdrawn,
     * and then neither the Task nor the issue stands.
     */
    private void lift(Concern concern) {
      if (close(concern.task())) {
        DetectedIssue issue =
            (DetectedIssue) records.find("DetectedIssue", concern.issue()).orElseThrow();
        written.add(
            versioned(records.put(issue.setStatus(DetectedIssue.DetectedIssueStatus.CANCELLED))));
      }
    }

    /** Cancels a Task that nobody needs to answer any more; says whether it was still open. */
    private boolean close(String id) {
      Task task = (Task) records.find("Task", id).orElseThrow();
      boolean open = OPEN.contains(task.getStatus());
      if (open) {
        written.add(versioned(records.put(task.setStatus(Task.TaskStatus.CANCELLED))));
      }
      return open;
    }

    private void review() {
      if (last.verdict() == Verdict.PLACE && !last.reviewAsked() && issued.review().isPresent()) {
        close(issued.review().get());
        issued = issued.withReview(Optional.empty());
      }
      if (last.reviewAsked() && last.warnings().isEmpty() && issued.review().isEmpty()) {
        Resource task = records.put(ConcernWriter.review(clinic, last, "CarePlan/" + plan.id()));
        written.add(versioned(task));
        issued = issued.withReview(Optional.of(task.getIdPart()));
      }
    }

    private void carePlan() {
      String from = shown();
      if (issued.carePlan().equals(from)) {
        return;
      }
      CarePlan current = (CarePlan) records.find("CarePlan", plan.id()).orElseThrow();
      CarePlan next =
          CarePlanWriter.apply(
              current,
              identity,
              issued.orders().stream().map(Order::id).toList(),
              issued.waiting().stream()
                  .flatMap(w -> w.proposals().stream())
                  .map(Order::id)
                  .toList(),
              issued.goals().values().stream().map(GoalRecord::id).toList(),
              issued.ranges().values().stream().map(RangeRecord::forecast).toList(),
              because,
              last);
      if (!next.equalsDeep(current)) {
        written.add(versioned(records.put(next)));
      }
      issued = issued.withCarePlan(from);
    }

    /** Everything the CarePlan shows; while it is the same, the CarePlan is not written again. */
    private String shown() {
      return String.join(
          "/",
          identity.language().toLanguageTag(),
          plan.status(),
          issued.orders().toString(),
          issued.waiting().toString(),
          issued.goals().keySet().toString(),
          issued.ranges().values().toString(),
          last.verdict().code(),
          last.reasons().toString(),
          last.considered().toString(),
          last.figures().answered() + "-" + last.figures().unsettled(),
          last.warnings().toString(),
          last.missing().toString(),
          last.precautions().toString());
    }
  }
}
