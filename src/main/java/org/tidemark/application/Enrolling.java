package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CarePlan.CarePlanStatus;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest.ServiceRequestStatus;
import org.tidemark.application.PlanBook.Saying;
import org.tidemark.application.PlanEngine.Touched;
import org.tidemark.decision.Fact;
import org.tidemark.decision.FactSource;
import org.tidemark.fhir.CarePlanWriter;
import org.tidemark.fhir.EnrolmentReader;
import org.tidemark.fhir.EnrolmentReader.Enrolment;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.programme.Programme;

/**
 * Puts people on programmes: a CarePlan that follows a programme opens a plan; its status holds,
 * resumes and ends it.
 */
@ApplicationScoped
class Enrolling {
  private static final Set<CarePlanStatus> OPENING =
      Set.of(CarePlanStatus.ACTIVE, CarePlanStatus.DRAFT);

  private final References references;
  private final Programmes programmes;
  private final PlanBook book;
  private final Reports reports;
  private final Issuing issuing;
  private final GoalActs goals;
  private final PersonCheck people;
  private final ClinicClock clock;
  private final Guard guard;

  Enrolling(
      References references,
      Programmes programmes,
      PlanBook book,
      Reports reports,
      Issuing issuing,
      GoalActs goals,
      PersonCheck people,
      ClinicClock clock,
      Guard guard) {
    this.references = references;
    this.programmes = programmes;
    this.book = book;
    this.reports = reports;
    this.issuing = issuing;
    this.goals = goals;
    this.people = people;
    this.clock = clock;
    this.guard = guard;
  }

  /**
   * Refuses a CarePlan that cannot be followed, or that changes what a plan is about.
   *
   * @return what is to be stored: what the service has written into a plan stays in it, whether the
   *     client sends it back or not
   */
  CarePlan admit(CarePlan plan, Optional<CarePlan> former) {
    Optional<Enrolment> enrolment = EnrolmentReader.read(plan, clock.zone(), clock.now());
    Optional<RunningPlan> running = former.flatMap(before -> book.find(before.getIdPart()));
    if (running.isPresent()) {
      requireSame(plan, former.get());
      requireStatusAllowed(running.get(), plan);
      if (!running.get().status().equals(plan.getStatus().toCode())) {
        guard.requireClinician("begins, holds, resumes or ends a plan that is kept", plan);
      }
      return CarePlanWriter.keep(plan, former.get());
    }
    if (enrolment.isPresent() && OPENING.contains(plan.getStatus())) {
      programme(enrolment.get());
      requireOnly(plan, enrolment.get());
    }
    return plan;
  }

  /** Opens the plan of a new CarePlan, or takes in what a clinician changed about one that runs. */
  void follow(CarePlan plan, Touched touched) {
    Optional<RunningPlan> running = book.find(plan.getIdPart());
    if (running.isPresent()) {
      changeStatus(running.get(), plan, touched);
      return;
    }
    Optional<Enrolment> enrolment = EnrolmentReader.read(plan, clock.zone(), clock.now());
    if (enrolment.isPresent() && OPENING.contains(plan.getStatus())) {
      open(plan, enrolment.get(), touched);
    }
  }

  private void open(CarePlan plan, Enrolment enrolment, Touched touched) {
    // Another entry of the same Bundle may have opened a plan since this one was admitted.
    requireOnly(plan, enrolment);
    Programme programme = programme(enrolment).programme();
    OffsetDateTime start = enrolment.start().isAfter(clock.now()) ? clock.now() : enrolment.start();
    Fact.Enrolled enrolled =
        new Fact.Enrolled(
            start, source(plan), enrolment.side(), enrolment.policy(), enrolment.control());
    String subject = subject(plan);
    people.require(touched.person(subject, people::person), clock.now(), "CarePlan.subject");
    RunningPlan opened =
        book.open(plan.getIdPart(), subject, programme, plan.getStatus().toCode(), enrolled);
    touched.rewritten(opened.id());
    touched.says(opened.id(), new Saying(enrolled.source(), List.of(enrolled)));
    goals.adopt(plan, opened, enrolled, touched);
    reports.gather(opened, touched, reports::park);
  }

  private void changeStatus(RunningPlan running, CarePlan plan, Touched touched) {
    String status = plan.getStatus().toCode();
    touched.rewritten(running.id());
    RunningPlan written = running.with(running.issued().withCarePlan("")).withStatus(status);
    if (!written.open()) {
      ServiceRequestStatus end =
          plan.getStatus() == CarePlanStatus.COMPLETED
              ? ServiceRequestStatus.COMPLETED
              : ServiceRequestStatus.REVOKED;
      book.save(running.open() ? issuing.end(written, end) : written);
      return;
    }
    book.save(written);
    boolean wasHeld = running.status().equals("on-hold");
    boolean isHeld = status.equals("on-hold");
    if (wasHeld != isHeld) {
      List<Fact> said = new ArrayList<>(book.said(running.id(), "CarePlan", plan.getIdPart()));
      said.add(new Fact.Held(clock.justAfter(running.state()), source(plan), isHeld));
      touched.says(running.id(), new Saying(source(plan), said));
    }
  }

  private Programmes.Served programme(Enrolment enrolment) {
    return programmes
        .find(enrolment.programmeUrl(), enrolment.programmeVersion())
        .orElseThrow(
            () ->
                Problem.of(
                    Problem.Kind.UNKNOWN_PROGRAMME,
                    "There is no programme "
                        + enrolment.programmeUrl()
                        + enrolment
                            .programmeVersion()
                            .map(version -> " in version " + version)
                            .orElse("")
                        + " here.",
                    "CarePlan.instantiatesCanonical[0]"));
  }

  /** Two plans of one programme for one side would both be decided on by the same reports. */
  private void requireOnly(CarePlan plan, Enrolment enrolment) {
    boolean another =
        book.ofSubject(subject(plan)).stream()
            .filter(RunningPlan::open)
            .filter(other -> !other.id().equals(plan.getIdPart()))
            .anyMatch(
                other ->
                    other.side() == enrolment.side()
                        && other.programme().id().url().equals(enrolment.programmeUrl()));
    if (another) {
      throw Problem.of(
          Problem.Kind.BUSINESS_RULE,
          "The person already has an open plan of this programme for this side.",
          "CarePlan.instantiatesCanonical[0]");
    }
  }

  private void requireSame(CarePlan plan, CarePlan former) {
    if (!subject(plan).equals(subject(former))) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE, "The person of a plan does not change.", "CarePlan.subject");
    }
    if (plan.getIntent() != former.getIntent()) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE, "The intent of a plan does not change.", "CarePlan.intent");
    }
    List<String> before =
        former.getInstantiatesCanonical().stream().map(CanonicalType::getValue).toList();
    if (!plan.getInstantiatesCanonical().stream()
        .map(CanonicalType::getValue)
        .toList()
        .equals(before)) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE,
          "The programme of a plan does not change.",
          "CarePlan.instantiatesCanonical");
    }
    Optional<Enrolment> now = EnrolmentReader.read(plan, clock.zone(), clock.now());
    Optional<Enrolment> then = EnrolmentReader.read(former, clock.zone(), clock.now());
    if (!now.map(Enrolment::side).equals(then.map(Enrolment::side))) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE, "The side of a plan does not change.", "CarePlan.extension");
    }
    if (!now.map(Enrolment::policy).equals(then.map(Enrolment::policy))
        || !now.map(Enrolment::control).equals(then.map(Enrolment::control))) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE,
          "How a running plan is judged and controlled does not change; end it and begin another.",
          "CarePlan.extension");
    }
  }

  private static void requireStatusAllowed(RunningPlan running, CarePlan plan) {
    boolean opens =
        plan.getStatus() == CarePlanStatus.ACTIVE || plan.getStatus() == CarePlanStatus.ONHOLD;
    boolean backToDraft =
        plan.getStatus() == CarePlanStatus.DRAFT && !running.status().equals("draft");
    if (backToDraft || (opens && !running.open())) {
      throw Problem.of(
          Problem.Kind.BUSINESS_RULE,
          "A plan that is "
              + running.status()
              + " does not become "
              + plan.getStatus().toCode()
              + ".",
          "CarePlan.status");
    }
  }

  private String subject(CarePlan plan) {
    if (!plan.getSubject().hasReference()) {
      throw Problem.of(
          Problem.Kind.MISSING,
          "The person is needed as a reference.",
          "CarePlan.subject.reference");
    }
    return references.normal(plan.getSubject().getReference());
  }

  static FactSource source(Resource resource) {
    return new FactSource(resource.fhirType(), resource.getIdPart(), Records.version(resource));
  }
}
