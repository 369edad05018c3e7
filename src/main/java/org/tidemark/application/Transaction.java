package org.tidemark.application;

import java.util.ArrayList;
import java.util.Comparator;
import java.util.HashMap;
import java.util.HashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalInt;
import java.util.Set;
import java.util.SortedSet;
import java.util.TreeMap;
import java.util.TreeSet;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleEntryComponent;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.access.Action;
import org.tidemark.audit.Interaction;
import org.tidemark.audit.Visit;
import org.tidemark.fhir.EntityTags;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.ReferenceWalk;
import org.tidemark.store.LostRace;

/**
 * One run of a transaction Bundle, inside a database transaction.
 *
 * <p>Ids are given out first, so that entries can refer to each other in any order; then all is
 * written, people and definitions before what refers to them; then consequences are drawn once; the
 * reads come last. A problem names the entry.
 */
final class Transaction {
  /** Written before everything else, in this order: others are judged by them. */
  private static final List<String> FIRST =
      List.of(
          "Patient",
          "Organization",
          "Practitioner",
          "PractitionerRole",
          "Device",
          "ActivityDefinition",
          "PlanDefinition",
          "Questionnaire",
          "CarePlan",
          "ServiceRequest");

  private final Records records;
  private final Bundle bundle;
  private final List<Entry> entries = new ArrayList<>();
  private final Map<Integer, Resource> deletions = new TreeMap<>();
  private final Map<String, String> byFullUrl = new HashMap<>();
  private final Set<String> conditions = new HashSet<>();

  /** What is put where nothing has been, as {@code Type/id}: asked for all entries at once. */
  private final Set<String> unused = new HashSet<>();

  private final Map<Integer, BundleEntryComponent> answers = new HashMap<>();

  /** One entry that writes, and what came of it. */
  private static final class Entry {
    final int index;
    final Interaction by;
    final Resource resource;
    final Optional<Resource> former;
    final Bundle.BundleEntryRequestComponent request;
    Change change;

    Entry(
        int index,
        Interaction by,
        Resource resource,
        Optional<Resource> former,
        Bundle.BundleEntryRequestComponent request) {
      this.index = index;
      this.by = by;
      this.resource = resource;
      this.former = former;
      this.request = request;
    }

    private int rank() {
      return Transaction.rank(resource.fhirType());
    }
  }

  /** The place of a type in the order in which records are written: what others rest on first. */
  static int rank(String type) {
    int rank = FIRST.indexOf(type);
    return rank < 0 ? FIRST.size() : rank;
  }

  Transaction(Records records, Bundle bundle) {
    this.records = records;
    this.bundle = bundle;
  }

  Bundle run() {
    takeTurnsOnConditions();
    unused.addAll(findUnused());
    forEach(this::prepare);
    requireEachOnce();
    entries.forEach(entry -> at(entry.index, () -> resolve(entry.resource)));
    records.takeTurns(subjects());
    requireStillUnused();
    deletions.forEach((index, former) -> at(index, () -> delete(index, former)));
    entries.stream()
        .sorted(Comparator.comparingInt(Entry::rank))
        .forEach(entry -> at(entry.index, () -> write(entry)));
    deletions.forEach((index, former) -> at(index, () -> records.requireUnused(former)));
    records.follow(entries.stream().map(entry -> entry.change).toList());
    for (Entry entry : entries) {
      Written written =
          new Written(records.current(entry.change.resource()), entry.former.isEmpty());
      answers.put(entry.index, Entries.written(written, records));
    }
    forEach(this::read);
    Bundle answer = new Bundle().setType(Bundle.BundleType.TRANSACTIONRESPONSE);
    for (int i = 0; i < bundle.getEntry().size(); i++) {
      answer.addEntry(answers.get(i));
    }
    return answer;
  }

  /** Whom what is written, was there before, or is deleted is about. */
  private SortedSet<String> subjects() {
    SortedSet<String> subjects = new TreeSet<>();
    for (Entry entry : entries) {
      at(
          entry.index,
          () ->
              Stream.concat(Stream.of(entry.resource), entry.former.stream())
                  .flatMap(resource -> records.subjectOf(resource).stream())
                  .forEach(subjects::add));
    }
    deletions.values().forEach(former -> records.subjectOf(former).ifPresent(subjects::add));
    return subjects;
  }

  private interface Step {
    void take(int index, BundleEntryComponent entry);
  }

  private void forEach(Step step) {
    for (int i = 0; i < bundle.getEntry().size(); i++) {
      int index = i;
      at(index, () -> step.take(index, bundle.getEntry().get(index)));
    }
  }

  private static void at(int index, Runnable step) {
    try {
      step.run();
    } catch (Problem problem) {
      throw problem.inEntry(index);
    }
  }

  private void prepare(int index, BundleEntryComponent entry) {
    EntryUrl url = EntryUrl.read(entry.getRequest().getUrl(), records.references().base());
    Bundle.HTTPVerb method = entry.getRequest().getMethod();
    switch (method) {
      case GET -> {}
      case POST -> preparePost(index, entry, url);
      case PUT -> preparePut(index, entry, url);
      case PATCH -> preparePatch(index, entry, url);
      case DELETE -> {
        Types.requireWritten(url.type());
        records.require(Action.DELETE, url.type());
        Types.requireDeletable(url.type());
        answers.put(index, Entries.deleted());
        records
            .find(Action.DELETE, url.address())
            .ifPresentOrElse(
                former -> deletions.put(index, former),
                () -> records.noteNothingDeleted(url.address()));
      }
      default ->
          throw Problem.of(
              Problem.Kind.UNSUPPORTED, "The method " + method + " is not offered in a Bundle.");
    }
  }

  private void preparePost(int index, BundleEntryComponent entry, EntryUrl url) {
    Resource resource = Types.require(entry.getResource(), url);
    records.require(Action.CREATE, url.type());
    if (entry.getRequest().hasIfNoneExist()) {
      Condition condition = ifNoneExist(index, entry);
      Optional<Resource> existing = records.conditions().match(resource.fhirType(), condition);
      if (existing.isPresent()) {
        records.noteRead(existing.get());
        known(entry, existing.get());
        answers.put(index, Entries.written(new Written(existing.get(), false), records));
        return;
      }
      requireNewCondition(resource.fhirType(), condition);
      Records.withNewId(resource);
      records.conditions().claim(resource, condition);
    } else {
      Records.withNewId(resource);
    }
    known(entry, resource);
    entries.add(
        new Entry(index, Interaction.CREATE, resource, Optional.empty(), entry.getRequest()));
  }

  private static Condition ifNoneExist(int index, BundleEntryComponent entry) {
    return Condition.read(
        entry.getRequest().getIfNoneExist(), "Bundle.entry[" + index + "].request.ifNoneExist");
  }

  private void requireNewCondition(String type, Condition condition) {
    if (!conditions.add(condition.turn(type))) {
      throw Problem.of(
          Problem.Kind.DUPLICATE, "Another entry is created under the same condition.");
    }
  }

  private void preparePut(int index, BundleEntryComponent entry, EntryUrl url) {
    Resource resource = Types.require(entry.getResource(), url);
    records.require(Action.UPDATE, url.type());
    Address address = url.address();
    if (address.condition().isPresent()) {
      Optional<Resource> match = records.find(Action.UPDATE, address);
      if (match.isEmpty()) {
        requireNewCondition(url.type(), address.condition().get());
      }
      records.identify(resource, match, address.condition().get());
    } else {
      Types.requireId(resource, url.id());
      Records.withId(resource, url.id());
    }
    known(entry, resource);
    entries.add(
        new Entry(index, Interaction.UPDATE, resource, former(resource), entry.getRequest()));
  }

  private Optional<Resource> former(Resource resource) {
    if (unused.contains(resource.fhirType() + "/" + resource.getIdPart())) {
      Records.withUnusedId(resource);
      return Optional.empty();
    }
    return records.find(resource.fhirType(), resource.getIdPart());
  }

  private Set<String> findUnused() {
    Map<String, Set<String>> put = new TreeMap<>();
    forEach(
        (index, entry) -> {
          EntryUrl url = EntryUrl.read(entry.getRequest().getUrl(), records.references().base());
          if (entry.getRequest().getMethod() == Bundle.HTTPVerb.PUT && !url.id().isEmpty()) {
            put.computeIfAbsent(url.type(), type -> new HashSet<>()).add(url.id());
          }
        });
    Set<String> found = new HashSet<>();
    put.forEach((type, ids) -> records.unused(type, ids).forEach(id -> found.add(type + "/" + id)));
    return found;
  }

  /** Somebody may have written before it was this one's turn. */
  private void requireStillUnused() {
    if (!findUnused().containsAll(unused)) {
      throw new LostRace("an id has been taken");
    }
  }

  private void preparePatch(int index, BundleEntryComponent entry, EntryUrl url) {
    Types.requireWritten(url.type());
    records.require(Action.UPDATE, url.type());
    Resource patch = Types.requirePatch(entry.getResource());
    Address address = url.address();
    Resource former =
        records.find(Action.UPDATE, address).orElseThrow(() -> records.absent(address));
    Resource resource = Records.patched(former, before -> records.patches().any(before, patch));
    known(entry, resource);
    entries.add(
        new Entry(index, Interaction.PATCH, resource, Optional.of(former), entry.getRequest()));
  }

  private void delete(int index, Resource former) {
    Bundle.BundleEntryRequestComponent request = bundle.getEntry().get(index).getRequest();
    records.delete(former, EntityTags.version(request.getIfMatch()));
  }

  /** Those who set the same conditions wait for each other, before any of them looks. */
  private void takeTurnsOnConditions() {
    Map<String, List<Condition>> byType = new TreeMap<>();
    forEach(
        (index, entry) -> {
          EntryUrl url = EntryUrl.read(entry.getRequest().getUrl(), records.references().base());
          List<Condition> ofType = byType.computeIfAbsent(url.type(), type -> new ArrayList<>());
          if (entry.getRequest().hasIfNoneExist()) {
            ofType.add(ifNoneExist(index, entry));
          }
          boolean changes =
              entry.getRequest().getMethod() != Bundle.HTTPVerb.GET
                  && entry.getRequest().getMethod() != Bundle.HTTPVerb.POST;
          if (changes && url.id().isEmpty()) {
            url.address().condition().ifPresent(ofType::add);
          }
        });
    byType.forEach(records.conditions()::takeTurns);
  }

  private void known(BundleEntryComponent entry, Resource resource) {
    if (entry.hasFullUrl()
        && byFullUrl.put(entry.getFullUrl(), resource.fhirType() + "/" + resource.getIdPart())
            != null) {
      throw Problem.of(Problem.Kind.DUPLICATE, "Another entry has the same fullUrl.");
    }
  }

  private void requireEachOnce() {
    Set<String> names = new HashSet<>();
    deletions.forEach((index, former) -> requireNew(names, former, index));
    entries.forEach(entry -> requireNew(names, entry.resource, entry.index));
  }

  private static void requireNew(Set<String> names, Resource resource, int index) {
    if (!names.add(resource.fhirType() + "/" + resource.getIdPart())) {
      throw Problem.of(Problem.Kind.DUPLICATE, "The same record is written twice.").inEntry(index);
    }
  }

  private void resolve(Resource resource) {
    ReferenceWalk.each(resource, this::resolve);
  }

  private void resolve(String path, Reference reference) {
    String text = reference.getReference();
    // HAPI ties entries of a Bundle together when it parses it; a tied resource would be contained.
    reference.setResource(null);
    String local = byFullUrl.get(text);
    if (local != null) {
      reference.setReference(local);
    } else if (text.startsWith("urn:uuid:") || text.startsWith("urn:oid:")) {
      throw Problem.of(
          Problem.Kind.UNKNOWN_REFERENCE, "No entry has the fullUrl " + text + ".", path);
    } else if (text.indexOf('?') > 0) {
      reference.setReference(matched(path, text));
    }
  }

  private String matched(String path, String text) {
    String type = text.substring(0, text.indexOf('?'));
    Condition condition = Condition.read(text, path);
    Types.requireServed(type);
    Optional<Resource> match = records.conditions().match(type, condition);
    return match
        .map(resource -> type + "/" + resource.getIdPart())
        .orElseThrow(
            () ->
                Problem.of(Problem.Kind.NO_MATCH, "No " + type + " matches the condition.", path));
  }

  private void write(Entry entry) {
    entry.change =
        records.writeForClient(
            entry.by,
            entry.resource,
            entry.former,
            EntityTags.version(entry.request.getIfMatch()),
            OptionalInt.of(entry.index));
  }

  private void read(int index, BundleEntryComponent entry) {
    if (entry.getRequest().getMethod() == Bundle.HTTPVerb.GET) {
      EntryUrl url = EntryUrl.read(entry.getRequest().getUrl(), records.references().base());
      Types.requireServed(url.type());
      Visit.entry("GET", entry.getRequest().getUrl());
      answers.put(index, Entries.read(records, url));
    }
  }
}
