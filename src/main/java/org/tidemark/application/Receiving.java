package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.Date;
import java.util.HashMap;
import java.util.HashSet;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.DomainResource;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Meta;
import org.hl7.fhir.r4.model.MetadataResource;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Signature;
import org.hl7.fhir.r4.model.Task;
import org.tidemark.application.Issued.Order;
import org.tidemark.audit.Visit;
import org.tidemark.decision.Fact;
import org.tidemark.decision.PlanState;
import org.tidemark.fhir.HandedOver;
import org.tidemark.fhir.HandedOver.Placed;
import org.tidemark.fhir.HandoverCopy;
import org.tidemark.fhir.HandoverCopy.Target;
import org.tidemark.fhir.HandoverFacts;
import org.tidemark.fhir.HandoverFacts.Running;
import org.tidemark.fhir.HandoverFacts.Said;
import org.tidemark.fhir.Matter;
import org.tidemark.fhir.PrescriptionReader;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.ReceiptWriter;
import org.tidemark.fhir.References;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.store.HandoverStore;
import org.tidemark.store.HandoverStore.Copy;
import org.tidemark.store.HandoverStore.Received;
import org.tidemark.store.PaperStore;
import org.tidemark.store.StoredFact;

/**
 * Takes over plans from other clinics, each in one transaction: the records under ids of ours, and
 * the plan as it stood there, so that the next decision here is the one that would have been taken
 * there.
 *
 * <p>A document that was received before changes nothing. A later one of the same plan is taken as
 * long as the plan has not gone on here.
 */
@ApplicationScoped
public class Receiving {
  private static final int LONGEST_ID = 64;
  private static final int DIGITS_OF_ISSUER = 8;

  /** Definitions that are known by their address and version. */
  private static final Set<String> DEFINITIONS = Set.of("ActivityDefinition", "PlanDefinition");

  private final Records records;
  private final References references;
  private final Programmes programmes;
  private final PlanBook book;
  private final PlanOutcomes outcomes;
  private final HandoverStore store;
  private final PaperStore papers;
  private final ClinicClock clock;
  private final Guard guard;

  Receiving(
      Records records,
      References references,
      Programmes programmes,
      PlanBook book,
      PlanOutcomes outcomes,
      HandoverStore store,
      PaperStore papers,
      ClinicClock clock,
      Guard guard) {
    this.guard = guard;
    this.records = records;
    this.references = references;
    this.programmes = programmes;
    this.book = book;
    this.outcomes = outcomes;
    this.store = store;
    this.papers = papers;
    this.clock = clock;
  }

  /**
   * Takes a plan over.
   *
   * @param document a document whose signature has been found right
   * @param person the id of the Patient here whose plan it becomes, when that is known
   * @throws Problem when the document is not whole, or the plan cannot be taken over
   */
  public Receipt receive(Bundle document, Optional<String> person) {
    guard.requireTaking();
    HandedOver handed = HandedOver.read(document);
    String turn = "Handover/" + Digests.of(Stream.of(handed.issuer(), handed.plan().getId()));
    return records.inTurn(
        turn, () -> new Taking(handed, person, document.getSignature().copy()).take());
  }

  /** One document, in the transaction that takes it. */
  private final class Taking {
    private final HandedOver handed;
    private final Optional<String> person;
    private final Signature signature;
    private final Map<String, Map<String, Copy>> copies = new HashMap<>();
    private final Map<String, String> here = new LinkedHashMap<>();

    Taking(HandedOver handed, Optional<String> person, Signature signature) {
      this.handed = handed;
      this.person = person;
      this.signature = signature;
    }

    private Receipt take() {
      CarePlan plan = handed.plan();
      Optional<Received> known = store.find(handed.issuer(), plan.getIdElement().getIdPart());
      if (known.filter(row -> row.document().equals(handed.identifier())).isPresent()) {
        return receipt(known.get().planId(), false);
      }
      known.ifPresent(this::requireUntouched);
      handed.records().values().stream().map(Placed::resource).forEach(this::identify);
      String subject = subject(plan);
      records.takeTurn(subject);
      Visit.about(subject);
      Running running = inPlace(plan, () -> HandoverFacts.takeRunning(plan));
      List<StoredFact> facts = facts();
      keepDefinitions();
      Programme programme = programme(running);
      requireOnly(plan, subject, programme);
      keepRecords();
      takeOver(plan, subject, programme, running, facts);
      return receipt(idOf(plan), true);
    }

    private Receipt receipt(String planId, boolean changed) {
      CarePlan here = records.find(CarePlan.class, planId).orElseThrow();
      return new Receipt(
          references.base() + "CarePlan/" + planId,
          here.getSubject().getReference(),
          handed.identifier(),
          changed);
    }

    /** What was received and has gone on here is nobody else's to go on with. */
    private void requireUntouched(Received known) {
      if (!digest(book.facts(known.planId())).equals(known.facts())) {
        throw Problem.of(
            Problem.Kind.BUSINESS_RULE,
            "The plan was received before, as CarePlan/"
                + known.planId()
                + ", and has gone on here since.",
            place(handed.plan()));
      }
    }

    // ---- ids ----

    private void identify(Resource record) {
      String type = record.fhirType();
      String id = record.getIdElement().getIdPart();
      Copy known = copies.computeIfAbsent(type, t -> store.copies(handed.issuer(), t)).get(id);
      String ours;
      if (known != null) {
        ours = known.id();
      } else if (DEFINITIONS.contains(type)) {
        ours =
            programmes
                .sameName((MetadataResource) record)
                .map(same -> same.getIdElement().getIdPart())
                .orElseGet(() -> newId(type, id));
      } else if (record instanceof Patient patient) {
        ours = person.or(() -> ourOwn(patient)).orElseGet(() -> newId(type, id));
      } else {
        ours = newId(type, id);
      }
      here.put(type + "/" + id, ours);
    }

    /** A person who was handed over by us and comes back. */
    private Optional<String> ourOwn(Patient patient) {
      String system = references.base() + "Patient";
      return patient.getIdentifier().stream()
          .filter(identifier -> system.equals(identifier.getSystem()))
          .map(Identifier::getValue)
          .filter(id -> records.find("Patient", id).isPresent())
          .findFirst();
    }

    /**
     * The same id where it is free, else one that begins with it, so that what is ordered by ids
     * keeps its order.
     */
    private String newId(String type, String id) {
      if (records.isFree(type, id)) {
        return id;
      }
      String other =
          id + "--" + Digests.of(Stream.of(handed.issuer())).substring(0, DIGITS_OF_ISSUER);
      return other.length() <= LONGEST_ID && records.isFree(type, other)
          ? other
          : org.tidemark.store.ResourceStore.newId();
    }

    private String idOf(Resource record) {
      return here.get(record.fhirType() + "/" + record.getIdElement().getIdPart());
    }

    private String subject(CarePlan plan) {
      String subject = plan.getSubject().getReference();
      String ours = here.get(subject);
      if (ours == null && References.isLocal(subject)) {
        throw Problem.of(
            Problem.Kind.MISSING,
            "The document does not hold its person.",
            place(plan) + ".subject");
      }
      person
          .filter(id -> records.find("Patient", id).isEmpty())
          .ifPresent(
              id -> {
                throw Problem.of(
                    Problem.Kind.UNKNOWN_REFERENCE,
                    "There is no Patient/" + id + " here.",
                    "patient");
              });
      return ours == null ? subject : "Patient/" + ours;
    }

    // ---- the plan ----

    private Programme programme(Running running) {
      int bar = running.programme().lastIndexOf('|');
      boolean brought =
          handed.records().values().stream()
              .map(Placed::resource)
              .filter(PlanDefinition.class::isInstance)
              .map(PlanDefinition.class::cast)
              .anyMatch(
                  d -> bar > 0 && running.programme().equals(d.getUrl() + "|" + d.getVersion()));
      if (!brought) {
        throw Problem.of(
            Problem.Kind.UNKNOWN_PROGRAMME,
            "The document does not hold the programme " + running.programme() + ".",
            place(handed.plan()) + ".instantiatesCanonical");
      }
      return programmes.running(running.programme());
    }

    private void requireOnly(CarePlan plan, String subject, Programme programme) {
      boolean another =
          isOpen(plan)
              && book.ofSubject(subject).stream()
                  .filter(RunningPlan::open)
                  .filter(other -> !other.id().equals(idOf(plan)))
                  .anyMatch(other -> other.programme().id().url().equals(programme.id().url()));
      if (another) {
        throw Problem.of(
            Problem.Kind.BUSINESS_RULE,
            "The person already has an open plan of this programme here.",
            place(plan) + ".instantiatesCanonical[0]");
      }
    }

    private static boolean isOpen(CarePlan plan) {
      return Set.of(
              CarePlan.CarePlanStatus.ACTIVE,
              CarePlan.CarePlanStatus.DRAFT,
              CarePlan.CarePlanStatus.ONHOLD)
          .contains(plan.getStatus());
    }

    private List<StoredFact> facts() {
      List<StoredFact> facts = new ArrayList<>();
      for (Placed placed : handed.records().values()) {
        if (placed.resource() instanceof DomainResource record) {
          List<Said> said = inPlace(record, () -> HandoverFacts.take(record));
          for (int i = 0; i < said.size(); i++) {
            facts.add(fact(record, i, said.get(i)));
          }
        }
      }
      return facts;
    }

    private StoredFact fact(DomainResource record, int ordinal, Said said) {
      StoredFact told =
          new StoredFact(
              record.fhirType(),
              idOf(record),
              ordinal,
              said.version(),
              0,
              said.arrivedMs(),
              said.content());
      return PlanCodec.told(told)
          .orElseThrow(
              () ->
                  Problem.of(
                      Problem.Kind.INVALID_VALUE,
                      "What the plan takes from the record cannot be read here.",
                      place(record) + ".extension('" + HandoverFacts.FACT + "')"));
    }

    private void takeOver(
        CarePlan plan,
        String subject,
        Programme programme,
        Running running,
        List<StoredFact> facts) {
      Issued there =
          PlanCodec.toldIssued(running.issued())
              .orElseThrow(
                  () ->
                      Problem.of(
                          Problem.Kind.INVALID_VALUE,
                          "What has been issued for the plan cannot be read here.",
                          place(plan) + ".extension('" + HandoverFacts.RUNNING + "')"));
      Issued issued = there.under((type, id) -> ours(type, id));
      Fact.Enrolled enrolled =
          facts.stream()
              .map(PlanCodec::fact)
              .filter(Fact.Enrolled.class::isInstance)
              .map(Fact.Enrolled.class::cast)
              .findFirst()
              .orElseThrow(
                  () ->
                      Problem.of(
                          Problem.Kind.MISSING,
                          "The document does not say when the plan began.",
                          place(plan)));
      RunningPlan taken =
          book.takeOver(
              new RunningPlan(
                  idOf(plan),
                  subject,
                  enrolled.side(),
                  programme,
                  plan.getStatus().toCode(),
                  PlanState.EMPTY,
                  issued),
              facts,
              orders());
      requireSame(plan, taken);
      outcomes.keepAll(taken);
      papers.mark(taken.id(), clock.now().toInstant().toEpochMilli());
      store.keep(
          new Received(
              handed.issuer(),
              plan.getIdElement().getIdPart(),
              taken.id(),
              handed.identifier(),
              digest(book.facts(taken.id()))));
      records.put(
          ReceiptWriter.write(
              "CarePlan/" + taken.id(),
              "Device/" + Issuing.ENGINE,
              "Organization/" + Issuing.ORGANISATION,
              handed,
              signature,
              Date.from(clock.now().toInstant())));
    }

    private String ours(String type, String id) {
      String ours = here.get(type + "/" + id);
      if (ours == null) {
        throw Problem.of(
            Problem.Kind.MISSING,
            "The document does not hold %s/%s, which was issued for the plan.".formatted(type, id),
            place(handed.plan()) + ".activity");
      }
      return ours;
    }

    private Set<String> orders() {
      Set<String> orders = new HashSet<>();
      for (Placed placed : handed.records().values()) {
        if (placed.resource() instanceof ServiceRequest order) {
          orders.add(idOf(order));
        }
      }
      return orders;
    }

    /** The facts lead to what the plan says is in force, and the prescriptions say the same. */
    private void requireSame(CarePlan plan, RunningPlan taken) {
      if (!taken.open() || taken.state().last().isEmpty()) {
        return;
      }
      Set<Prescription> asked = new HashSet<>();
      for (Order order : taken.issued().orders()) {
        ServiceRequest request = records.find(ServiceRequest.class, order.id()).orElseThrow();
        boolean same =
            request.getStatus().toCode().equals(order.status())
                && PrescriptionReader.read(
                        request, taken.programme(), Optional.of(order.prescription()))
                    .equals(order.prescription());
        if (!same) {
          throw Problem.of(
              Problem.Kind.NOT_VALID,
              "A prescription does not say what the plan has in force.",
              place(plan) + ".activity");
        }
        if (request.getStatus() != ServiceRequest.ServiceRequestStatus.ONHOLD) {
          asked.add(order.prescription());
        }
      }
      if (!asked.equals(new HashSet<>(taken.state().inForce()))) {
        throw Problem.of(
            Problem.Kind.NOT_VALID,
            "What the records say does not lead to what the plan has in force.",
            place(plan) + ".activity");
      }
    }

    // ---- the records ----

    private void keepDefinitions() {
      List<Placed> definitions =
          handed.records().values().stream()
              .filter(placed -> DEFINITIONS.contains(placed.resource().fhirType()))
              .sorted(java.util.Comparator.comparing(placed -> placed.resource().fhirType()))
              .toList();
      for (Placed placed : definitions) {
        Optional<Resource> same = programmes.sameName((MetadataResource) placed.resource());
        if (same.isEmpty()) {
          keep(placed, Optional.empty());
        } else if (!bare(same.get()).equalsDeep(bare(placed.resource()))) {
          throw Problem.of(
              Problem.Kind.BUSINESS_RULE,
              "There is another definition under this address and version here.",
              place(placed.resource()));
        }
      }
    }

    private static Resource bare(Resource definition) {
      MetadataResource bare = (MetadataResource) definition.copy();
      bare.setText(null);
      bare.setMeta(new Meta());
      bare.setId((String) null);
      return bare;
    }

    private void keepRecords() {
      for (Placed placed : handed.records().values()) {
        Resource record = placed.resource();
        boolean known = record instanceof Patient && !records.isFree("Patient", idOf(record));
        Optional<Copy> copy =
            Optional.ofNullable(
                copies.get(record.fhirType()).get(record.getIdElement().getIdPart()));
        if (DEFINITIONS.contains(record.fhirType()) || (known && copy.isEmpty())) {
          continue;
        }
        if (copy.isEmpty() || isNewer(placed, copy.get())) {
          keep(placed, copy);
        }
      }
    }

    /** What has been changed here since it came stays as it is. */
    private boolean isNewer(Placed placed, Copy copy) {
      long standing =
          records
              .find(placed.resource().fhirType(), copy.id())
              .map(Records::version)
              .orElse(Long.MAX_VALUE);
      return standing == copy.version() && placed.version() > copy.version();
    }

    private void keep(Placed placed, Optional<Copy> known) {
      Resource record = placed.resource();
      String type = record.fhirType();
      String id = record.getIdElement().getIdPart();
      long version = placed.version();
      Resource copy = record.copy();
      HandoverCopy.mark(copy, handed.issuer(), id);
      HandoverCopy.redirect(copy, handed.issuer(), this::redirected);
      if (copy instanceof CarePlan plan) {
        HandoverCopy.continues(plan, handed.issuer(), id);
      }
      if (copy instanceof Task task && isOfTheClock(task)) {
        task.setStatus(Task.TaskStatus.CANCELLED);
      }
      copy.setId(type + "/" + idOf(record));
      if (copy instanceof ActivityDefinition variation) {
        programmes.admit(variation, Optional.empty());
      } else if (copy instanceof PlanDefinition programme) {
        programmes.admit(programme, Optional.empty());
      }
      records.receive(copy, version);
      store.keep(handed.issuer(), type, id, new Copy(idOf(record), version), known.isPresent());
    }

    /** What the clock has brought about there is looked at anew here. */
    private static boolean isOfTheClock(Task task) {
      return Issuing.OPEN.contains(task.getStatus())
          && Stream.of(Matter.values())
              .anyMatch(
                  matter ->
                      task.getCode()
                          .hasCoding(org.tidemark.fhir.Codes.CLINICIAN_TASK, matter.code()));
    }

    private Optional<String> redirected(Target target) {
      Placed placed = handed.records().get(target.reference());
      boolean held =
          placed != null
              && target
                  .version()
                  .map(version -> version.equals(Long.toString(placed.version())))
                  .orElse(true);
      return held
          ? Optional.of(
              placed.resource().fhirType()
                  + "/"
                  + idOf(placed.resource())
                  + target.version().map(version -> "/_history/" + version).orElse(""))
          : Optional.empty();
    }

    // ---- where it is ----

    private String place(Resource record) {
      return "Bundle.entry["
          + handed
              .records()
              .get(record.fhirType() + "/" + record.getIdElement().getIdPart())
              .index()
          + "].resource";
    }

    private <T> T inPlace(Resource record, java.util.function.Supplier<T> reading) {
      try {
        return reading.get();
      } catch (Problem problem) {
        throw problem.inEntry(
            handed
                .records()
                .get(record.fhirType() + "/" + record.getIdElement().getIdPart())
                .index());
      }
    }
  }

  private static String digest(List<StoredFact> facts) {
    return Digests.of(
        facts.stream()
            .map(
                fact ->
                    "%s/%s %d %s"
                        .formatted(
                            fact.sourceType(), fact.sourceId(), fact.ordinal(), fact.content()))
            .sorted());
  }
}
