package org.tidemark.recordsystem;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.narayana.jta.QuarkusTransaction;
import java.net.URI;
import java.net.URLEncoder;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.HashMap;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Objects;
import java.util.Optional;
import java.util.OptionalLong;
import java.util.Set;
import java.util.UUID;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.Attachment;
import org.hl7.fhir.r4.model.Binary;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleEntryComponent;
import org.hl7.fhir.r4.model.Bundle.BundleEntryResponseComponent;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.DocumentReference;
import org.hl7.fhir.r4.model.DomainResource;
import org.hl7.fhir.r4.model.Enumerations.DocumentReferenceStatus;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Narrative;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Provenance;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.tidemark.application.Records;
import org.tidemark.exchange.Outgoing;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.store.WriteBackStore;
import org.tidemark.store.WriteBackStore.There;

/**
 * One time of writing a plan to a record system. First it is looked what was changed there: that is
 * taken here as the act of a clinician, or clashes with what is here, and then stands there until
 * somebody decides. Then what has changed here is written there, each record only in place of the
 * version that was seen. What was written is looked for before it is created, so that a lost answer
 * doubles nothing.
 */
final class Attempt {
  /** In the order in which single records are written. */
  private static final List<String> TYPES =
      List.of("Goal", "ServiceRequest", "CarePlan", "DocumentReference", "Provenance");

  /** The version there of a record that is there no more. */
  static final String DELETED = "deleted";

  /** The version there of a record whose server numbers none. */
  private static final String UNNUMBERED = "unnumbered";

  /** What clinicians change. */
  private static final Set<String> TAKEN_BACK = Set.of("CarePlan", "Goal", "ServiceRequest");

  private static final Set<ServiceRequest.ServiceRequestStatus> OVER =
      Set.of(
          ServiceRequest.ServiceRequestStatus.COMPLETED,
          ServiceRequest.ServiceRequestStatus.REVOKED,
          ServiceRequest.ServiceRequestStatus.ENTEREDINERROR);

  private static final Set<CarePlan.CarePlanStatus> OPEN =
      Set.of(
          CarePlan.CarePlanStatus.DRAFT,
          CarePlan.CarePlanStatus.ACTIVE,
          CarePlan.CarePlanStatus.ONHOLD);

  private final RecordSystem system;
  private final RecordSystemClient client;
  private final Records records;
  private final WriteBackStore store;
  private final FhirContext context;
  private final String planId;
  private final Runnable hold;
  private final Edit edit;
  private final Counterparts counterparts;
  private final Map<String, There> known = new LinkedHashMap<>();
  private final Map<String, Resource> seen = new HashMap<>();

  Attempt(
      RecordSystem system,
      RecordSystemClient client,
      Records records,
      WriteBackStore store,
      FhirContext context,
      References references,
      String planId,
      Runnable hold) {
    this.hold = hold;
    this.system = system;
    this.client = client;
    this.records = records;
    this.store = store;
    this.context = context;
    this.planId = planId;
    this.edit = new Edit(context);
    this.counterparts = new Counterparts(references.base(), system.source());
  }

  /**
   * Writes what is to be written.
   *
   * @param statement what the record system can do
   * @return whether the plan is still open
   * @throws RecordSystemProblem when not all of it was
   */
  boolean run(Statement statement) throws RecordSystemProblem {
    if (!statement.types().contains("CarePlan")) {
      throw new RecordSystemProblem("The record system creates no CarePlans.");
    }
    knowPerson(plan().getSubject().getReference());
    QuarkusTransaction.requiringNew()
        .call(() -> store.ofPlan(system.source(), planId))
        .forEach(this::know);
    for (There there : List.copyOf(known.values())) {
      look(there);
    }
    find(statement);
    write(statement);
    // A first Provenance is found again only by what it is about, which has no id there before.
    write(statement);
    return OPEN.contains(plan().getStatus());
  }

  private CarePlan plan() {
    return records.find(CarePlan.class, planId).orElseThrow();
  }

  private void know(There there) {
    known.put(there.reference(), there);
    counterparts.know(there.reference(), there.type() + "/" + there.thereId());
  }

  private void note(There there) {
    QuarkusTransaction.requiringNew().run(() -> store.note(system.source(), there));
    know(there);
  }

  // ---- the person ----

  private void knowPerson(String person) throws RecordSystemProblem {
    Set<String> found = new LinkedHashSet<>();
    Patient here =
        records
            .find(Patient.class, References.idOf(person))
            .orElseThrow(() -> new RecordSystemProblem("The plan is about nobody known here."));
    for (Identifier identifier : here.getIdentifier()) {
      if (identifier.hasSystem() && identifier.hasValue()) {
        found(Patient.class, "identifier=" + encoded(Pulling.token(identifier))).stream()
            .filter(patient -> has(patient, identifier))
            .forEach(patient -> found.add("Patient/" + patient.getIdElement().getIdPart()));
      }
    }
    if (found.size() != 1) {
      throw new RecordSystemProblem(
          "The record system has %s with an identifier of the person."
              .formatted(found.isEmpty() ? "nobody" : "several people"));
    }
    counterparts.know(person, found.iterator().next());
  }

  private <T extends Resource> List<T> found(Class<T> type, String search)
      throws RecordSystemProblem {
    Bundle bundle =
        client
            .read(system, system.base().resolve(type.getSimpleName() + "?" + search), Bundle.class)
            .orElseThrow(
                () ->
                    new RecordSystemProblem(
                        "The record system does not search for %s."
                            .formatted(type.getSimpleName())));
    return bundle.getEntry().stream()
        .map(BundleEntryComponent::getResource)
        .filter(type::isInstance)
        .map(type::cast)
        .toList();
  }

  /** Not every server keeps to the search that it was asked for. */
  private static boolean has(Resource record, Identifier identifier) {
    return identifiers(record)
        .anyMatch(
            one ->
                Objects.equals(identifier.getSystem(), one.getSystem())
                    && Objects.equals(identifier.getValue(), one.getValue()));
  }

  private static Stream<Identifier> identifiers(Resource record) {
    return Optional.ofNullable(record.getNamedProperty("identifier")).stream()
        .flatMap(property -> property.getValues().stream())
        .map(Identifier.class::cast);
  }

  private static String encoded(String text) {
    return URLEncoder.encode(text, StandardCharsets.UTF_8);
  }

  // ---- what was changed there ----

  private void look(There there) throws RecordSystemProblem {
    if (there.closed()) {
      return;
    }
    hold.run();
    Optional<? extends Resource> found =
        client.read(
            system,
            system.base().resolve(there.type() + "/" + there.thereId()),
            typeOf(there.type()));
    if (found.isEmpty()) {
      clash(there, DELETED, "It was deleted in the record system.", there.type());
      return;
    }
    seen.put(there.reference(), found.get());
    if (!isAsSeen(there, found.get())) {
      look(there, found.get());
    }
  }

  /** Without a number a record is compared each time, unless it is to be written over. */
  private static boolean isAsSeen(There there, Resource found) {
    return version(found).equals(there.thereVersion())
        && (there.version() == 0 || !there.thereVersion().equals(UNNUMBERED));
  }

  private void look(There there, Resource found) throws RecordSystemProblem {
    Resource here = current(there.reference()).orElseThrow();
    long ours = counterparts.version(found, there.reference()).orElse(there.version());
    Resource before = records.findVersion(there.type(), there.id(), ours).orElse(here);
    Set<String> edited = edit.between(counterparts.outward(before), counterparts.plain(found));
    boolean saysMore = saysMore(found);
    if (edited.isEmpty() && !saysMore) {
      note(there.written(ours, version(found), isOver(before)));
    } else if (!TAKEN_BACK.contains(there.type())) {
      note(there.written(ours, version(found), true));
    } else if (saysMore) {
      clash(
          there,
          version(found),
          "Its narrative in the record system says what its elements do not.",
          there.type() + ".text");
    } else {
      takeBack(there, found, ours, before, here, edited);
    }
  }

  /** A narrative that somebody has added to says so; ours only tell what the elements say. */
  private static boolean saysMore(Resource found) {
    return found instanceof DomainResource narrated
        && narrated.getText().getStatus() == Narrative.NarrativeStatus.ADDITIONAL;
  }

  private void takeBack(
      There there, Resource found, long ours, Resource before, Resource here, Set<String> edited)
      throws RecordSystemProblem {
    Resource theirs = counterparts.inward(found);
    Set<String> changedHere = edit.between(before, here);
    changedHere.retainAll(edited);
    changedHere.retainAll(edit.between(here, theirs));
    if (!changedHere.isEmpty()) {
      clash(
          there,
          version(found),
          "It was changed in the record system and here.",
          there.type() + "." + changedHere.iterator().next());
      return;
    }
    Resource taken = edit.with(here, edited, theirs);
    taken
        .getMeta()
        .setSource(
            system.source() + there.type() + "/" + there.thereId() + "/_history/" + version(found));
    try {
      records.update(taken, OptionalLong.of(ours(here)));
      note(there.written(ours, version(found), false));
    } catch (Problem refused) {
      if (refused.issues().stream()
          .anyMatch(issue -> issue.kind() == Problem.Kind.VERSION_CONFLICT)) {
        throw new RecordSystemProblem("The plan was changed here meanwhile.", refused);
      }
      clash(there, version(found), refused);
    }
  }

  private void clash(There there, String version, String text, String element) {
    clash(there, version, Problem.of(Problem.Kind.BUSINESS_RULE, text, element));
  }

  private void clash(There there, String version, Problem problem) {
    String outcome = context.newJsonParser().encodeResourceToString(Outcomes.of(problem));
    note(there.clashing(version, outcome));
  }

  // ---- what is to be there ----

  /** The records that a plan is told by, as {@code Type/id}; those of before go on as they are. */
  private Set<String> parts() {
    CarePlan plan = plan();
    Set<String> parts = new LinkedHashSet<>(known.keySet());
    parts.removeIf(part -> part.startsWith("Provenance/"));
    plan.getGoal().stream().map(Reference::getReference).forEach(parts::add);
    plan.getActivity().stream()
        .map(activity -> activity.getReference().getReference())
        .filter(reference -> reference != null && reference.startsWith("ServiceRequest/"))
        .forEach(parts::add);
    parts.add("CarePlan/" + planId);
    records
        .list(DocumentReference.class, Map.of("related", "CarePlan/" + planId, "status", "current"))
        .forEach(paper -> parts.add("DocumentReference/" + paper.getIdElement().getIdPart()));
    return parts;
  }

  private Optional<Resource> current(String reference) {
    return records.find(References.typeOf(reference), References.idOf(reference));
  }

  private static boolean isOver(Resource record) {
    return record instanceof Provenance
        || (record instanceof ServiceRequest order && OVER.contains(order.getStatus()))
        || (record instanceof DocumentReference paper
            && paper.getStatus() == DocumentReferenceStatus.SUPERSEDED);
  }

  /** Looks for what may have been created there without it being known here. */
  private void find(Statement statement) throws RecordSystemProblem {
    for (String part : parts()) {
      String type = References.typeOf(part);
      if (statement.types().contains(type) && !known.containsKey(part)) {
        Identifier identifier = counterparts.identifier(type, References.idOf(part));
        found(
            part,
            found(typeOf(type), "identifier=" + encoded(Pulling.token(identifier))),
            identifier);
      }
    }
  }

  private void found(String part, List<? extends Resource> matches, Identifier identifier)
      throws RecordSystemProblem {
    List<? extends Resource> named =
        matches.stream().filter(match -> has(match, identifier)).toList();
    if (named.size() > 1) {
      throw new RecordSystemProblem("The record system has several records for " + part + ".");
    }
    if (!named.isEmpty()) {
      There there = unwritten(part, named.get(0).getIdElement().getIdPart());
      know(there);
      seen.put(part, named.get(0));
      look(there, named.get(0));
    }
  }

  private There unwritten(String part, String thereId) {
    return new There(
        planId, References.typeOf(part), References.idOf(part), 0, thereId, "", false, "", "");
  }

  // ---- writing ----

  /** A record that is to be written, as it will be there. */
  private record Due(String reference, Resource here, Optional<There> there, Resource body) {}

  private void write(Statement statement) throws RecordSystemProblem {
    List<Due> due = due(statement);
    if (due.isEmpty()) {
      return;
    }
    if (statement.transactions()) {
      transact(due);
    } else {
      for (Due one : due) {
        writeSingle(refreshed(one));
      }
    }
  }

  private List<Due> due(Statement statement) throws RecordSystemProblem {
    List<Due> due = new ArrayList<>();
    for (String part : parts()) {
      Optional<There> there = Optional.ofNullable(known.get(part));
      boolean left = there.filter(one -> one.closed() || one.isClashing()).isPresent();
      Optional<Resource> here = left ? Optional.empty() : current(part);
      if (here.isPresent()
          && statement.types().contains(References.typeOf(part))
          && there.map(one -> one.version() < ours(here.get())).orElse(true)) {
        due.add(new Due(part, here.get(), there, body(here.get())));
      }
    }
    if (statement.types().contains("Provenance")) {
      due.addAll(trail(due));
    }
    due.sort(Comparator.comparingInt(one -> TYPES.indexOf(one.here().fhirType())));
    return due;
  }

  /** What tells of the newest version of each record, where it is not there. */
  private List<Due> trail(List<Due> due) throws RecordSystemProblem {
    Map<String, Due> trail = new LinkedHashMap<>();
    Set<String> about = new LinkedHashSet<>();
    known.values().stream()
        .filter(there -> TAKEN_BACK.contains(there.type()))
        .map(There::reference)
        .forEach(about::add);
    due.stream().map(Due::reference).forEach(about::add);
    for (String reference : about) {
      for (Provenance provenance :
          records.newest(Provenance.class, Map.of("target", reference), 1)) {
        String part = "Provenance/" + provenance.getIdElement().getIdPart();
        if (!known.containsKey(part) && !trail.containsKey(part)) {
          told(part, provenance).ifPresent(one -> trail.put(part, one));
        }
      }
    }
    return List.copyOf(trail.values());
  }

  /** Empty when it is there, or cannot be found again if its answer is lost. */
  private Optional<Due> told(String part, Provenance provenance) throws RecordSystemProblem {
    Provenance body = (Provenance) body(provenance);
    Optional<String> target =
        body.getTarget().stream()
            .map(Reference::getReference)
            .filter(reference -> reference != null)
            .findFirst();
    if (target.isEmpty()) {
      return Optional.empty();
    }
    String search =
        "target=%s&recorded=%s"
            .formatted(
                encoded(target.get()), encoded(body.getRecordedElement().getValueAsString()));
    for (Provenance match : found(Provenance.class, search)) {
      if (provenance.getRecorded().equals(match.getRecorded())) {
        note(
            unwritten(part, match.getIdElement().getIdPart())
                .written(ours(provenance), version(match), true));
        return Optional.empty();
      }
    }
    return Optional.of(new Due(part, provenance, Optional.empty(), body));
  }

  private Resource body(Resource here) {
    Resource whole = here;
    if (here instanceof DocumentReference paper) {
      DocumentReference filled = paper.copy();
      filled.getContent().forEach(content -> fill(content.getAttachment()));
      whole = filled;
    }
    Resource body = counterparts.outward(whole);
    Optional.ofNullable(seen.get(here.fhirType() + "/" + here.getIdElement().getIdPart()))
        .ifPresent(there -> keep(body, there));
    return body;
  }

  /** Keeps the identifiers, tags and labels that others have given to a record there. */
  private static void keep(Resource body, Resource there) {
    identifiers(there)
        .filter(one -> !has(body, one))
        .toList()
        .forEach(one -> body.setProperty("identifier", one.copy()));
    there.getMeta().getTag().stream()
        .filter(tag -> body.getMeta().getTag(tag.getSystem(), tag.getCode()) == null)
        .forEach(tag -> body.getMeta().addTag(tag.copy()));
    there.getMeta().getSecurity().stream()
        .filter(label -> body.getMeta().getSecurity(label.getSystem(), label.getCode()) == null)
        .forEach(label -> body.getMeta().addSecurity(label.copy()));
  }

  private void fill(Attachment attachment) {
    String url = Optional.ofNullable(attachment.getUrl()).orElse("");
    if (url.matches("Binary/[A-Za-z0-9\\-.]{1,64}")) {
      records
          .find(Binary.class, References.idOf(url))
          .ifPresent(binary -> attachment.setData(binary.getData()).setUrl(null));
    }
  }

  /** With references to what was created since. */
  private Due refreshed(Due due) {
    return new Due(due.reference(), due.here(), due.there(), body(due.here()));
  }

  private void transact(List<Due> due) throws RecordSystemProblem {
    Bundle bundle = new Bundle().setType(Bundle.BundleType.TRANSACTION);
    Counterparts within = new Counterparts(counterparts);
    for (Due one : due) {
      if (one.there().isEmpty()) {
        within.know(one.reference(), fullUrl(one));
      }
    }
    for (Due one : due) {
      Resource body = within.plain(one.body());
      BundleEntryComponent entry = bundle.addEntry().setFullUrl(fullUrl(one)).setResource(body);
      String type = one.here().fhirType();
      if (one.there().isPresent()) {
        body.setId(one.there().get().thereId());
        entry
            .getRequest()
            .setMethod(Bundle.HTTPVerb.PUT)
            .setUrl(type + "/" + one.there().get().thereId());
        etag(one.there().get()).ifPresent(entry.getRequest()::setIfMatch);
      } else {
        entry.getRequest().setMethod(Bundle.HTTPVerb.POST).setUrl(type);
        condition(one).ifPresent(entry.getRequest()::setIfNoneExist);
      }
    }
    hold.run();
    Outgoing.Answer answer =
        client.write(system, "POST", withoutSlash(system.base()), Map.of(), bundle);
    List<BundleEntryComponent> told = client.parsed(answer, Bundle.class).getEntry();
    if (told.size() != due.size()) {
      throw new RecordSystemProblem("The record system does not answer for each record.");
    }
    for (int i = 0; i < due.size(); i++) {
      BundleEntryResponseComponent response = told.get(i).getResponse();
      written(due.get(i), response.getLocation(), response.getEtag());
    }
  }

  private String fullUrl(Due due) {
    return "urn:uuid:" + UUID.nameUUIDFromBytes(due.reference().getBytes(StandardCharsets.UTF_8));
  }

  private Optional<String> condition(Due due) {
    return due.here() instanceof Provenance
        ? Optional.empty()
        : Optional.of(
            "identifier="
                + encoded(
                    Pulling.token(
                        counterparts.identifier(
                            due.here().fhirType(), References.idOf(due.reference())))));
  }

  private void writeSingle(Due due) throws RecordSystemProblem {
    hold.run();
    String type = due.here().fhirType();
    Outgoing.Answer answer;
    if (due.there().isPresent()) {
      String id = due.there().get().thereId();
      due.body().setId(id);
      answer =
          client.write(
              system,
              "PUT",
              system.base().resolve(type + "/" + id),
              etag(due.there().get()).map(one -> Map.of("If-Match", one)).orElse(Map.of()),
              due.body());
    } else {
      answer =
          client.write(
              system,
              "POST",
              system.base().resolve(type),
              condition(due).map(one -> Map.of("If-None-Exist", one)).orElse(Map.of()),
              due.body());
    }
    Map<String, String> headers = answer.headers();
    written(
        due,
        headers.getOrDefault("location", headers.get("content-location")),
        headers.get("etag"));
  }

  private void written(Due due, String location, String etag) throws RecordSystemProblem {
    String type = due.here().fhirType();
    String id =
        due.there()
            .map(There::thereId)
            .or(() -> idIn(type, location))
            .orElseThrow(
                () ->
                    new RecordSystemProblem(
                        "The record system does not say where it has put a %s.".formatted(type)));
    Optional<String> version = tagged(etag).or(() -> versionIn(location));
    if (version.isEmpty()) {
      version =
          client
              .read(system, system.base().resolve(type + "/" + id), typeOf(type))
              .map(Attempt::version);
    }
    note(
        unwritten(due.reference(), id)
            .written(ours(due.here()), version.orElse(UNNUMBERED), isOver(due.here())));
  }

  private static Optional<String> idIn(String type, String location) {
    return part(location, ".*\\b" + type + "/([A-Za-z0-9\\-.]{1,64})(?:/_history/.*)?");
  }

  private static Optional<String> versionIn(String location) {
    return part(location, ".*/_history/([^/?]+)");
  }

  private static Optional<String> tagged(String etag) {
    return part(etag, "(?:W/)?\"([^\"]+)\"");
  }

  private static Optional<String> part(String text, String pattern) {
    return Optional.ofNullable(text)
        .map(Pattern.compile(pattern)::matcher)
        .filter(Matcher::matches)
        .map(matcher -> matcher.group(1));
  }

  private static Optional<String> etag(There there) {
    return Optional.of(there.thereVersion())
        .filter(version -> !version.equals(UNNUMBERED))
        .map(version -> "W/\"" + version + "\"");
  }

  private static URI withoutSlash(URI base) {
    return URI.create(base.toString().replaceFirst("/$", ""));
  }

  private Class<? extends Resource> typeOf(String type) {
    return context.getResourceDefinition(type).getImplementingClass().asSubclass(Resource.class);
  }

  private static String version(Resource there) {
    return there.getMeta().hasVersionId() ? there.getMeta().getVersionId() : UNNUMBERED;
  }

  private static long ours(Resource here) {
    return Long.parseLong(here.getMeta().getVersionId());
  }
}
