package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Optional;
import java.util.OptionalLong;
import java.util.Set;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.RequestGroup;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.ServiceRequest.ServiceRequestStatus;
import org.tidemark.decision.ChangeControl;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Fact;
import org.tidemark.decision.FactSource;
import org.tidemark.decision.PlanState;
import org.tidemark.decision.RangeFigures;
import org.tidemark.decision.Review;
import org.tidemark.fhir.Codes;
import org.tidemark.fhir.GuidanceWriter;
import org.tidemark.fhir.PlanIdentity;
import org.tidemark.fhir.PrescriptionWriter;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Side;
import org.tidemark.response.ResponsePolicy;

/** What would be decided, shown without storing anything. */
@ApplicationScoped
public class Previews {
  private final Records records;
  private final References references;
  private final Programmes programmes;
  private final PlanBook book;
  private final Reports reports;
  private final Languages languages;
  private final ClinicClock clock;
  private final Guard guard;

  Previews(
      Records records,
      References references,
      Programmes programmes,
      PlanBook book,
      Reports reports,
      Languages languages,
      ClinicClock clock,
      Guard guard) {
    this.guard = guard;
    this.records = records;
    this.references = references;
    this.programmes = programmes;
    this.book = book;
    this.reports = reports;
    this.languages = languages;
    this.clock = clock;
  }

  /**
   * What would be decided now about a plan, from everything that is known, and why.
   *
   * @param planId id of the CarePlan
   * @return {@code decision}, a GuidanceResponse, and a {@code prescription} for each exercise that
   *     would be in force or proposed
   * @throws Problem when there is no such plan, or the service does not run it
   */
  public Parameters nextPrescription(String planId) {
    return QuarkusTransaction.joiningExisting().call(() -> nextOf(planId));
  }

  private Parameters nextOf(String planId) {
    records
        .read("CarePlan", planId, OptionalLong.empty())
        .orElseThrow(
            () -> Problem.of(Problem.Kind.NOT_FOUND, "There is no CarePlan/" + planId + "."));
    RunningPlan plan =
        book.find(planId)
            .orElseThrow(
                () ->
                    Problem.of(
                        Problem.Kind.BUSINESS_RULE,
                        "This CarePlan follows no programme of this service.",
                        "CarePlan.instantiatesCanonical"));
    guard.requirePlan(plan.subject());
    if (!plan.open()) {
      throw Problem.of(
          Problem.Kind.BUSINESS_RULE,
          "The plan is " + plan.status() + "; nothing is decided about it any more.",
          "CarePlan.status");
    }
    Decision decision =
        book.refold(plan)
            .last()
            .orElseThrow(
                () ->
                    Problem.of(
                        Problem.Kind.BUSINESS_RULE,
                        "The plan has not begun yet.",
                        "CarePlan.period"));
    PlanIdentity identity = languages.forPerson(plan);
    Parameters answer = new Parameters();
    answer
        .addParameter()
        .setName("decision")
        .setResource(GuidanceWriter.write(identity, decision.with(ranges(plan))));
    for (Prescription prescription : decision.inForce()) {
      answer
          .addParameter()
          .setName("prescription")
          .setResource(written(identity, prescription, decision, PrescriptionWriter.Kind.ORDER));
    }
    for (Prescription prescription : decision.proposal()) {
      answer
          .addParameter()
          .setName("proposal")
          .setResource(written(identity, prescription, decision, PrescriptionWriter.Kind.PROPOSAL));
    }
    return answer;
  }

  private static List<RangeFigures> ranges(RunningPlan plan) {
    return plan.issued().ranges().values().stream().map(Issued.RangeRecord::figures).toList();
  }

  private static ServiceRequest written(
      PlanIdentity identity,
      Prescription prescription,
      Decision decision,
      PrescriptionWriter.Kind kind) {
    return PrescriptionWriter.write(
        identity,
        prescription,
        decision,
        kind,
        ServiceRequestStatus.DRAFT,
        Optional.empty(),
        Optional.empty());
  }

  /**
   * Where a person would start on a programme, as an unsaved proposal.
   *
   * @param planDefinitionId id of the PlanDefinition
   * @param subject the person, as a reference
   * @param side {@code left} or {@code right}; when null, the one side that baselines name
   * @return a CarePlan with one activity, a RequestGroup of proposals; without one when data are
   *     missing, which its contained GuidanceResponse then lists
   * @throws Problem when there is no such programme, or the side is not clear
   */
  public CarePlan apply(String planDefinitionId, String subject, String side) {
    return QuarkusTransaction.joiningExisting()
        .call(() -> applied(planDefinitionId, subject, side));
  }

  private CarePlan applied(String planDefinitionId, String subject, String side) {
    PlanDefinition definition =
        records
            .read("PlanDefinition", planDefinitionId, OptionalLong.empty())
            .map(PlanDefinition.class::cast)
            .orElseThrow(
                () ->
                    Problem.of(
                        Problem.Kind.NOT_FOUND,
                        "There is no PlanDefinition/" + planDefinitionId + "."));
    if (subject == null || subject.isBlank()) {
      throw Problem.of(
          Problem.Kind.MISSING,
          "The person is needed.",
          "Parameters.parameter.where(name='subject')");
    }
    String person = references.normal(subject);
    requireKnown(person);
    guard.requirePlan(person);
    Programmes.Served served = programmes.read(definition);
    Side forSide = side == null ? onlySide(person) : side(side);
    RunningPlan plan =
        new RunningPlan(
            "preview",
            person,
            forSide,
            served.programme(),
            "draft",
            PlanState.EMPTY,
            Issued.NOTHING);
    PlanState state = Review.replay(served.programme(), facts(plan));
    return proposal(definition, plan, state.last().orElseThrow());
  }

  private void requireKnown(String person) {
    if (person.startsWith("Patient/")
        && (!guard.knows(person) || records.find("Patient", References.idOf(person)).isEmpty())) {
      throw Problem.of(
          Problem.Kind.UNKNOWN_REFERENCE,
          "There is no " + person + " here.",
          "Parameters.parameter.where(name='subject')");
    }
  }

  private List<Fact> facts(RunningPlan plan) {
    PlanEngine.Touched touched = new PlanEngine.Touched();
    reports.gather(plan, touched, (unreadable, why) -> {});
    List<Fact> facts = new ArrayList<>();
    touched
        .plans()
        .values()
        .forEach(what -> what.sayings().forEach(saying -> facts.addAll(saying.facts())));
    java.time.OffsetDateTime newest =
        facts.stream().map(Fact::at).max(java.util.Comparator.naturalOrder()).orElseGet(clock::now);
    facts.add(
        new Fact.Enrolled(
            newest,
            new FactSource("CarePlan", "preview", 1),
            plan.side(),
            ResponsePolicy.SYMPTOM_FREE,
            ChangeControl.WITHIN_STAGE));
    return facts;
  }

  private static Side side(String code) {
    return Arrays.stream(Side.values())
        .filter(side -> side.code().equals(code))
        .findFirst()
        .orElseThrow(
            () ->
                Problem.of(
                    Problem.Kind.INVALID_VALUE,
                    "The side is left or right, not '" + code + "'.",
                    "Parameters.parameter.where(name='side')"));
  }

  private Side onlySide(String person) {
    Set<Side> sides = new java.util.TreeSet<>();
    for (Resource known :
        records.listBySubject("Observation", person, Set.of(Codes.REPORT_ITEM + "|baseline"))) {
      org.tidemark.fhir.Sides.of(((Observation) known).getBodySite(), "Observation.bodySite")
          .ifPresent(sides::add);
    }
    if (sides.size() != 1) {
      throw Problem.of(
          Problem.Kind.MISSING,
          "The side is needed: the person has "
              + (sides.isEmpty() ? "no baseline" : "baselines of both sides")
              + ".",
          "Parameters.parameter.where(name='side')");
    }
    return sides.iterator().next();
  }

  private CarePlan proposal(PlanDefinition definition, RunningPlan plan, Decision decision) {
    PlanIdentity identity = languages.forPerson(plan);
    CarePlan proposal = new CarePlan();
    proposal.setStatus(CarePlan.CarePlanStatus.DRAFT).setIntent(CarePlan.CarePlanIntent.PROPOSAL);
    proposal.setTitle(definition.getTitle());
    proposal.setSubject(new Reference(plan.subject()));
    proposal.addInstantiatesCanonical(definition.getUrl() + "|" + definition.getVersion());
    proposal
        .addExtension()
        .setUrl(Codes.structure("side"))
        .setValue(new CodeType(plan.side().code()));
    GuidanceResponse guidance = GuidanceWriter.write(identity, decision);
    guidance.setId("decision");
    proposal.addContained(guidance);
    proposal.addSupportingInfo(new Reference("#decision"));
    if (!decision.inForce().isEmpty()) {
      proposal.addActivity().setReference(new Reference("#start"));
      proposal.addContained(group(definition, plan, decision, proposal));
    }
    return proposal;
  }

  private RequestGroup group(
      PlanDefinition definition, RunningPlan plan, Decision decision, CarePlan proposal) {
    RequestGroup group = new RequestGroup();
    group.setId("start");
    group
        .setStatus(RequestGroup.RequestStatus.DRAFT)
        .setIntent(RequestGroup.RequestIntent.PROPOSAL);
    group.setSubject(new Reference(plan.subject()));
    group
        .getInstantiatesCanonical()
        .add(new CanonicalType(definition.getUrl() + "|" + definition.getVersion()));
    for (Prescription prescription : decision.inForce()) {
      ServiceRequest request =
          written(
              languages.forPerson(plan), prescription, decision, PrescriptionWriter.Kind.PROPOSAL);
      request.setId(prescription.variation());
      proposal.addContained(request);
      group
          .addAction()
          .setTitle(request.getCode().getText())
          .setResource(new Reference("#" + prescription.variation()));
    }
    return group;
  }
}
