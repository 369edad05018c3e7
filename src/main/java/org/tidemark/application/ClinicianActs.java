package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.Date;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Task;
import org.hl7.fhir.r4.model.Task.TaskStatus;
import org.tidemark.application.Issued.Order;
import org.tidemark.application.Issued.Waiting;
import org.tidemark.application.PlanBook.Saying;
import org.tidemark.application.PlanEngine.Touched;
import org.tidemark.decision.Fact;
import org.tidemark.fhir.PrescriptionReader;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.fhir.Sides;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Side;
import org.tidemark.programme.Variation;

/**
 * Takes in what clinicians do: a sign-off or a review by its Task, an override by the prescription
 * itself.
 */
@ApplicationScoped
class ClinicianActs {
  private static final Set<TaskStatus> ANSWERED =
      Set.of(
          TaskStatus.ACCEPTED,
          TaskStatus.REJECTED,
          TaskStatus.COMPLETED,
          TaskStatus.CANCELLED,
          TaskStatus.FAILED);

  private final References references;
  private final PlanBook book;
  private final Matters matters;
  private final Caseload caseload;
  private final ClinicClock clock;
  private final Guard guard;

  ClinicianActs(
      References references,
      PlanBook book,
      Matters matters,
      Caseload caseload,
      ClinicClock clock,
      Guard guard) {
    this.guard = guard;
    this.references = references;
    this.book = book;
    this.matters = matters;
    this.caseload = caseload;
    this.clock = clock;
  }

  /** Refuses an answer to a Task that no longer waits for one. */
  void admit(Task task, Optional<Task> former) {
    Optional<RunningPlan> plan = former.flatMap(this::planOf);
    if (former.isEmpty()) {
      return;
    }
    TaskStatus before = former.get().getStatus();
    if (asksForAnAnswer(former.get())
        && task.getStatus() != before
        && !Issuing.OPEN.contains(task.getStatus())) {
      guard.requireClinician("answers what waits for a clinician", task);
    }
    boolean closed = before == TaskStatus.ACCEPTED && task.getStatus() == TaskStatus.COMPLETED;
    boolean over = plan.isEmpty() && asksForAnAnswer(former.get()) && ANSWERED.contains(before);
    if (over && task.getStatus() != before && !closed) {
      throw Problem.of(
          Problem.Kind.BUSINESS_RULE,
          "The Task is "
              + before.toCode()
              + " already and does not become "
              + task.getStatus().toCode()
              + ".",
          "Task.status");
    }
    if (plan.isPresent() && !same(task.getFor(), former.get().getFor())) {
      throw Problem.of(Problem.Kind.IMMUTABLE, "The person of a Task does not change.", "Task.for");
    }
    if (plan.isPresent() && !same(task.getFocus(), former.get().getFocus())) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE, "The focus of a Task does not change.", "Task.focus");
    }
  }

  /** Whether the service wrote a Task to wait for its answer. */
  private static boolean asksForAnAnswer(Task task) {
    return task.getRequester().getReference() != null
        && task.getRequester().getReference().equals("Device/" + Issuing.ENGINE);
  }

  private boolean same(Reference one, Reference other) {
    return references.normal(one.getReference()).equals(references.normal(other.getReference()));
  }

  /** A sign-off, a clinician's word that exercise may go on, or an answer to the daily sweep. */
  void follow(Task task, Touched touched) {
    matters.answer(task).flatMap(row -> book.find(row.planId())).ifPresent(caseload::keep);
    Optional<RunningPlan> found = planOf(task);
    if (found.isEmpty() || !found.get().open()) {
      return;
    }
    RunningPlan plan = found.get();
    if (!book.said(plan.id(), "Task", task.getIdPart()).isEmpty()) {
      return;
    }
    answer(plan, task)
        .ifPresent(
            fact -> {
              touched.says(plan.id(), new Saying(Enrolling.source(task), List.of(fact)));
              if (fact instanceof Fact.Resumed) {
                book.save(plan.with(plan.issued().withReview(Optional.empty())));
              }
            });
  }

  private Optional<Fact> answer(RunningPlan plan, Task task) {
    OffsetDateTime at = when(plan, task);
    Optional<Waiting> waiting =
        plan.issued().waiting().filter(w -> w.task().equals(task.getIdPart()));
    if (waiting.isPresent()) {
      return switch (task.getStatus()) {
        case ACCEPTED, COMPLETED ->
            Optional.of(new Fact.SignedOff(at, Enrolling.source(task), true, waiting.get().full()));
        case REJECTED, CANCELLED, FAILED ->
            Optional.of(
                new Fact.SignedOff(at, Enrolling.source(task), false, waiting.get().full()));
        default -> Optional.empty();
      };
    }
    return task.getStatus() == TaskStatus.COMPLETED
        ? Optional.of(new Fact.Resumed(at, Enrolling.source(task)))
        : Optional.empty();
  }

  /** When the clinician acted: as the Task says, else just after the newest fact of the plan. */
  private OffsetDateTime when(RunningPlan plan, Task task) {
    Date end = task.getExecutionPeriod().getEnd();
    return end == null ? clock.justAfter(plan.state()) : clock.at(end, "Task.executionPeriod.end");
  }

  private Optional<RunningPlan> planOf(Task task) {
    String id = task.getIdPart();
    return book.ofSubject(references.normal(task.getFor().getReference())).stream()
        .filter(
            plan ->
                plan.issued().waiting().filter(w -> w.task().equals(id)).isPresent()
                    || plan.issued().concern().filter(c -> c.task().equals(id)).isPresent()
                    || plan.issued().review().filter(id::equals).isPresent())
        .findFirst();
  }

  /**
   * Refuses a change of a prescription that is not the clinician's to make, or that breaks a
   * precaution.
   */
  void admit(ServiceRequest request, Optional<ServiceRequest> former) {
    Optional<RunningPlan> found = former.flatMap(before -> book.ofOrder(before.getIdPart()));
    if (found.isEmpty()) {
      return;
    }
    RunningPlan plan = found.get();
    Optional<Order> order = plan.order(request.getIdPart());
    if (order.isEmpty()) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE,
          "Only a prescription in force can be changed; a proposal is answered by its Task.",
          "ServiceRequest");
    }
    requireSame(request, former.get());
    Prescription set =
        PrescriptionReader.read(request, plan.programme(), Optional.of(order.get().prescription()));
    if (!set.equals(order.get().prescription())) {
      guard.requireClinician("sets an exercise by hand", request);
    }
    requireInsidePrecautions(plan, set);
  }

  /** A clinician's override. */
  void follow(ServiceRequest request, Touched touched) {
    Optional<RunningPlan> found = book.ofOrder(request.getIdPart()).filter(RunningPlan::open);
    Optional<Order> order = found.flatMap(plan -> plan.order(request.getIdPart()));
    if (order.isEmpty()) {
      return;
    }
    RunningPlan plan = found.get();
    Prescription set =
        PrescriptionReader.read(request, plan.programme(), Optional.of(order.get().prescription()));
    if (set.equals(order.get().prescription())) {
      return;
    }
    List<Order> orders =
        plan.issued().orders().stream()
            .map(o -> o.id().equals(request.getIdPart()) ? new Order(o.id(), set, o.status()) : o)
            .toList();
    book.save(plan.with(plan.issued().withOrders(orders)));
    List<Fact> said = new ArrayList<>(book.said(plan.id(), "ServiceRequest", request.getIdPart()));
    said.add(new Fact.Overridden(clock.justAfter(plan.state()), Enrolling.source(request), set));
    touched.says(plan.id(), new Saying(Enrolling.source(request), said));
  }

  private void requireSame(ServiceRequest request, ServiceRequest former) {
    if (request.getIntent() != former.getIntent()) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE,
          "The intent of a prescription does not change.",
          "ServiceRequest.intent");
    }
    if (!same(request.getSubject(), former.getSubject())) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE,
          "The person of a prescription does not change.",
          "ServiceRequest.subject");
    }
    if (request.getStatus() != former.getStatus()) {
      throw Problem.of(
          Problem.Kind.BUSINESS_RULE,
          "The status of a prescription follows its plan: put the CarePlan on hold, or end it.",
          "ServiceRequest.status");
    }
    if (!request.getCode().equalsDeep(former.getCode())) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE,
          "The exercise of a prescription does not change.",
          "ServiceRequest.code");
    }
    if (!canonicals(request).equals(canonicals(former))) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE,
          "The definition that a prescription follows does not change.",
          "ServiceRequest.instantiatesCanonical");
    }
    if (!sides(request).equals(sides(former))) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE,
          "The side of a prescription does not change.",
          "ServiceRequest.bodySite");
    }
  }

  private static Set<Side> sides(ServiceRequest request) {
    return request.getBodySite().stream()
        .flatMap(site -> Sides.of(site, "ServiceRequest.bodySite").stream())
        .collect(Collectors.toSet());
  }

  private static List<String> canonicals(ServiceRequest request) {
    return request.getInstantiatesCanonical().stream().map(CanonicalType::getValue).toList();
  }

  private void requireInsidePrecautions(RunningPlan plan, Prescription set) {
    Variation variation = plan.programme().variation(set.variation()).orElseThrow();
    for (Precaution precaution : plan.state().person().precautions()) {
      if (precaution.holdsOn(clock.justAfter(plan.state()).toLocalDate())
          && !plan.programme().allows(precaution, variation, set.setting())) {
        throw Problem.of(
            Problem.Kind.BUSINESS_RULE,
            "A precaution forbids it: " + precaution.text(),
            "ServiceRequest.extension");
      }
    }
  }
}
