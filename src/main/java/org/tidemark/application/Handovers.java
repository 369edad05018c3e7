package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.Date;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalInt;
import java.util.OptionalLong;
import java.util.Set;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.Annotation;
import org.hl7.fhir.r4.model.Binary;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CarePlan.CarePlanStatus;
import org.hl7.fhir.r4.model.DocumentReference;
import org.hl7.fhir.r4.model.DomainResource;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.MarkdownType;
import org.hl7.fhir.r4.model.Organization;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.Task;
import org.tidemark.application.Issued.Concern;
import org.tidemark.application.Issued.GoalRecord;
import org.tidemark.application.Issued.RangeRecord;
import org.tidemark.application.Issued.Waiting;
import org.tidemark.audit.Interaction;
import org.tidemark.audit.Visit;
import org.tidemark.fhir.Codes;
import org.tidemark.fhir.HandoverFacts;
import org.tidemark.fhir.HandoverFacts.Running;
import org.tidemark.fhir.HandoverFacts.Said;
import org.tidemark.fhir.HandoverTransaction;
import org.tidemark.fhir.HandoverWriter;
import org.tidemark.fhir.PlanIdentity;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.ReferenceWalk;
import org.tidemark.fhir.References;
import org.tidemark.store.StoredFact;

/**
 * Hands plans over to other clinics: writes all that a plan rests on as one document, and closes
 * the plan once another clinic goes on with it.
 */
@ApplicationScoped
public class Handovers {
  /** Where a plan that was closed goes on. */
  private static final String CONTINUED = Codes.structure("continued-by");

  /** So many Provenances are looked for at once. */
  private static final int AT_ONCE = 100;

  /** What the records that are handed over may refer to, and what then comes along. */
  private static final Set<String> ALONG =
      Set.of("Device", "Organization", "Practitioner", "PractitionerRole", "Condition");

  private final Records records;
  private final References references;
  private final PlanBook book;
  private final Programmes programmes;
  private final Languages languages;
  private final ClinicClock clock;
  private final Guard guard;

  Handovers(
      Records records,
      References references,
      PlanBook book,
      Programmes programmes,
      Languages languages,
      ClinicClock clock,
      Guard guard) {
    this.guard = guard;
    this.records = records;
    this.references = references;
    this.book = book;
    this.programmes = programmes;
    this.languages = languages;
    this.clock = clock;
  }

  /**
   * Everything that a plan rests on, as a document that is not signed yet.
   *
   * @param planId the id of the CarePlan
   * @throws Problem when there is no such plan, or the service does not run it
   */
  public Bundle document(String planId) {
    String subject = running(planId).subject();
    Visit.about(subject);
    guard.requireRecord(subject);
    return records.inTurn(subject, () -> document(running(planId)));
  }

  /**
   * The content of a plan's document as a transaction for any R4 server.
   *
   * @param planId the id of the CarePlan
   * @throws Problem when there is no such plan, or the service does not run it
   */
  public Bundle transaction(String planId) {
    return HandoverTransaction.of(document(planId));
  }

  /**
   * Ends a plan that another clinic goes on with. Closing it again changes nothing.
   *
   * @param planId the id of the CarePlan
   * @param document the identifier of the document that the other clinic has received
   * @param successor the absolute address of the CarePlan there
   * @return the CarePlan as it is closed
   * @throws Problem when there is no such plan, or it has changed since the document (412): the
   *     other clinic would not know
   */
  public CarePlan close(String planId, String document, String successor) {
    Visit.about(running(planId).subject());
    return records.inTurn(
        running(planId).subject(),
        () -> {
          RunningPlan plan = running(planId);
          CarePlan current = records.find(CarePlan.class, planId).orElseThrow();
          Extension known = current.getExtensionByUrl(CONTINUED);
          if (known != null && successor.equals(pointer(known))) {
            return current;
          }
          if (!identifier(plan, content(plan)).equals(document)) {
            throw Problem.of(
                Problem.Kind.VERSION_CONFLICT,
                "The plan has changed since that document was written; hand it over again.",
                "Parameters.parameter.where(name='document')");
          }
          CarePlan closed = current.copy();
          closed.setStatus(plan.open() ? CarePlanStatus.REVOKED : current.getStatus());
          closed.addExtension(CONTINUED, new Reference(successor));
          closed.addNote(
              new Annotation()
                  .setTextElement(new MarkdownType("Continued by " + successor + "."))
                  .setTime(Date.from(clock.now().toInstant())));
          Change change =
              records.writeForClient(
                  Interaction.UPDATE,
                  closed,
                  Optional.of(current),
                  OptionalLong.empty(),
                  OptionalInt.empty());
          records.follow(List.of(change));
          return (CarePlan) records.current(change.resource());
        });
  }

  /** The clinic in whose name documents are signed, as a reference. */
  public String organisation() {
    return "Organization/" + Issuing.ORGANISATION;
  }

  private static String pointer(Extension continued) {
    return ((Reference) continued.getValue()).getReference();
  }

  private RunningPlan running(String planId) {
    if (records.read("CarePlan", planId, OptionalLong.empty()).isEmpty()) {
      throw records.absent(Address.of("CarePlan", planId));
    }
    return QuarkusTransaction.joiningExisting()
        .call(() -> book.find(planId))
        .orElseThrow(
            () ->
                Problem.of(
                    Problem.Kind.BUSINESS_RULE,
                    "This CarePlan follows no programme of this service.",
                    "CarePlan.instantiatesCanonical"));
  }

  private Bundle document(RunningPlan plan) {
    List<Resource> content = content(plan);
    String identifier = identifier(plan, content);
    carryFacts(plan, content);
    PlanIdentity identity = languages.forClinic(plan);
    String clinic =
        records
            .find(Organization.class, Issuing.ORGANISATION)
            .map(Organization::getName)
            .orElse("");
    return HandoverWriter.document(
        identity, clinic, content, references.base(), identifier, clock.now());
  }

  /**
   * What tells one state of a plan from another: every version that is handed over, except for the
   * papers, which follow from the rest.
   */
  private static String identifier(RunningPlan plan, List<Resource> content) {
    return plan.id()
        + "/"
        + Digests.of(
            content.stream()
                .filter(
                    record -> !(record instanceof DocumentReference || record instanceof Binary))
                .map(Handovers::versioned)
                .sorted());
  }

  private static String versioned(Resource record) {
    return reference(record) + "/_history/" + record.getMeta().getVersionId();
  }

  private static String reference(Resource record) {
    return record.fhirType() + "/" + record.getIdElement().getIdPart();
  }

  /** Puts what the plan takes from each record into the record. */
  private void carryFacts(RunningPlan plan, List<Resource> content) {
    Map<String, List<StoredFact>> said =
        book.facts(plan.id()).stream()
            .sorted(java.util.Comparator.comparingInt(StoredFact::ordinal))
            .collect(Collectors.groupingBy(fact -> fact.sourceType() + "/" + fact.sourceId()));
    for (Resource record : content) {
      for (StoredFact fact : said.getOrDefault(reference(record), List.of())) {
        HandoverFacts.write(
            (DomainResource) record,
            new Said(fact.content(), fact.arrivedMs(), fact.sourceVersion()));
      }
      if (record instanceof CarePlan carePlan) {
        HandoverFacts.write(
            carePlan,
            new Running(plan.programme().id().canonical(), PlanCodec.issued(plan.issued())));
      }
    }
  }

  /** Every record that is handed over, the CarePlan first. */
  private List<Resource> content(RunningPlan plan) {
    Map<String, Resource> all = new LinkedHashMap<>();
    CarePlan carePlan = records.find(CarePlan.class, plan.id()).orElseThrow();
    add(all, Stream.of(carePlan));
    add(all, named(plan, carePlan));
    Set<String> orders = book.orders(plan.id());
    add(all, about(plan, "ServiceRequest").filter(order -> orders.contains(idOf(order))));
    add(all, records.find(new Reference(plan.subject())).stream());
    for (String type : List.of("Condition", "Flag", "Observation", "QuestionnaireResponse")) {
      add(all, about(plan, type));
    }
    List<Resource> decisions =
        about(plan, "GuidanceResponse").filter(decision -> isOf(plan, decision)).toList();
    add(all, decisions.stream());
    add(all, trail(decisions));
    add(all, about(plan, "DetectedIssue").filter(issue -> isOnSide(plan, issue)));
    add(
        all,
        about(plan, "Task")
            .filter(
                task ->
                    all.containsKey(references.normal(((Task) task).getFocus().getReference()))));
    add(all, programmes.definitions(plan.programme().id().canonical()).stream());
    papers(plan, all);
    along(all);
    return new ArrayList<>(all.values());
  }

  private static void add(Map<String, Resource> all, Stream<? extends Resource> more) {
    more.forEach(record -> all.putIfAbsent(reference(record), record));
  }

  private static String idOf(Resource record) {
    return record.getIdElement().getIdPart();
  }

  private Stream<Resource> about(RunningPlan plan, String type) {
    return records.listBySubject(type, plan.subject(), Set.of()).stream();
  }

  /** What the CarePlan and what was issued for it name. */
  private Stream<Resource> named(RunningPlan plan, CarePlan carePlan) {
    Set<String> wanted = new LinkedHashSet<>();
    Issued issued = plan.issued();
    issued.goals().values().stream().map(GoalRecord::id).forEach(id -> wanted.add("Goal/" + id));
    issued.ranges().values().stream()
        .map(RangeRecord::forecast)
        .forEach(id -> wanted.add("RiskAssessment/" + id));
    issued.waiting().map(Waiting::task).ifPresent(id -> wanted.add("Task/" + id));
    issued.concern().map(Concern::task).ifPresent(id -> wanted.add("Task/" + id));
    issued.concern().map(Concern::issue).ifPresent(id -> wanted.add("DetectedIssue/" + id));
    issued.review().ifPresent(id -> wanted.add("Task/" + id));
    Stream.concat(carePlan.getGoal().stream(), carePlan.getSupportingInfo().stream())
        .map(reference -> references.normal(reference.getReference()))
        .filter(
            reference -> reference.startsWith("Goal/") || reference.startsWith("RiskAssessment/"))
        .forEach(wanted::add);
    return wanted.stream().flatMap(reference -> records.find(new Reference(reference)).stream());
  }

  private static boolean isOf(RunningPlan plan, Resource decision) {
    GuidanceResponse guidance = (GuidanceResponse) decision;
    return plan.programme().id().canonical().equals(guidance.getModule().primitiveValue())
        && isOnSide(plan, guidance);
  }

  private static boolean isOnSide(RunningPlan plan, Resource record) {
    Extension side = ((DomainResource) record).getExtensionByUrl(Codes.SIDE);
    return side != null && plan.side().code().equals(side.getValue().primitiveValue());
  }

  private Stream<Resource> trail(List<Resource> decisions) {
    List<Resource> trail = new ArrayList<>();
    for (int from = 0; from < decisions.size(); from += AT_ONCE) {
      String targets =
          decisions.subList(from, Math.min(from + AT_ONCE, decisions.size())).stream()
              .map(Handovers::reference)
              .collect(Collectors.joining(","));
      trail.addAll(records.list("Provenance", Map.of("target", targets)));
    }
    return trail.stream();
  }

  private void papers(RunningPlan plan, Map<String, Resource> all) {
    List<DocumentReference> papers =
        records.list(
            DocumentReference.class,
            Map.of("related", "CarePlan/" + plan.id(), "status", "current"));
    for (DocumentReference paper : papers) {
      add(all, Stream.of(paper));
      add(
          all,
          paper.getContent().stream()
              .flatMap(
                  content ->
                      records.find(new Reference(content.getAttachment().getUrl())).stream()));
    }
  }

  /**
   * Adds the people, devices and organisations that the records refer to, and those that these do.
   */
  private void along(Map<String, Resource> all) {
    List<Resource> fresh = new ArrayList<>(all.values());
    while (!fresh.isEmpty()) {
      Set<String> wanted = new LinkedHashSet<>();
      for (Resource record : fresh) {
        ReferenceWalk.each(
            record,
            (path, reference) -> {
              String target = references.normal(reference.getReference());
              if (References.isLocal(target)
                  && ALONG.contains(References.typeOf(target))
                  && !all.containsKey(target)) {
                wanted.add(target);
              }
            });
      }
      fresh =
          wanted.stream().flatMap(target -> records.find(new Reference(target)).stream()).toList();
      add(all, fresh.stream());
    }
  }
}
