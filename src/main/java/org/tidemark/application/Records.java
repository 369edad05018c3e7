package org.tidemark.application;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.inject.Instance;
import jakarta.transaction.Status;
import jakarta.transaction.TransactionSynchronizationRegistry;
import java.time.Instant;
import java.time.temporal.ChronoUnit;
import java.util.ArrayList;
import java.util.Collection;
import java.util.HashSet;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalInt;
import java.util.OptionalLong;
import java.util.Set;
import java.util.SortedSet;
import java.util.TreeSet;
import java.util.concurrent.ThreadLocalRandom;
import java.util.function.Supplier;
import java.util.function.UnaryOperator;
import java.util.regex.Pattern;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.access.Action;
import org.tidemark.audit.AuditTrail;
import org.tidemark.audit.Interaction;
import org.tidemark.audit.Visit;
import org.tidemark.fhir.Patches;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.ReferenceWalk;
import org.tidemark.fhir.References;
import org.tidemark.fhir.SearchParameters;
import org.tidemark.store.LostRace;
import org.tidemark.store.Query;
import org.tidemark.store.ResourceStore;
import org.tidemark.store.Stored;

/**
 * The records: written by clients, each request in one transaction with what follows from it, and
 * by the engine within that transaction.
 *
 * <p>A race that another writer won is run again from the start, so that the request is judged by
 * what is stored now; the client sees only the result. Writers about the same person take turns.
 */
@ApplicationScoped
public class Records {
  private static final int ATTEMPTS = 25;
  private static final int TRANSACTION_SECONDS = 300;
  private static final int REFERRERS_NAMED = 5;

  /** Marks a resource whose id has just been made. */
  private static final String NEW = "tidemark.new";

  private static final String UNUSED = "tidemark.unused-id";

  /** The person that a resource was found to be about when it was written. */
  private static final String SUBJECT = "tidemark.subject";

  /** The people whom a transaction has found to be here. */
  private static final String MET = "tidemark.met";

  private static final Pattern ID = Pattern.compile("[A-Za-z0-9\\-.]{1,64}");

  private final ResourceStore store;
  private final FhirContext context;
  private final References references;
  private final SearchParameters parameters;
  private final Searching searching;
  private final Searches searches;
  private final Conditions conditions;
  private final Patches patches;
  private final Validation validation;
  private final Guard guard;
  private final Instance<Consequences> consequences;
  private final Instance<Outbox> outbox;
  private final AuditTrail trail;
  private final Spans spans;
  private final TransactionSynchronizationRegistry transactions;
  private final VersionRule versions;
  private final Limits limits;

  Records(
      ResourceStore store,
      FhirContext context,
      References references,
      SearchParameters parameters,
      Searching searching,
      Searches searches,
      Conditions conditions,
      Patches patches,
      Validation validation,
      Guard guard,
      Instance<Consequences> consequences,
      Instance<Outbox> outbox,
      AuditTrail trail,
      Spans spans,
      TransactionSynchronizationRegistry transactions,
      VersionRule versions,
      Limits limits) {
    this.versions = versions;
    this.limits = limits;
    this.transactions = transactions;
    this.spans = spans;
    this.trail = trail;
    this.store = store;
    this.context = context;
    this.references = references;
    this.parameters = parameters;
    this.searching = searching;
    this.searches = searches;
    this.conditions = conditions;
    this.patches = patches;
    this.validation = validation;
    this.guard = guard;
    this.consequences = consequences;
    this.outbox = outbox;
  }

  // ---- clients ----

  /**
   * Stores a new record of a client under an id of ours.
   *
   * @param resource the record
   * @return the record as it stands once all consequences are drawn
   * @throws Problem when it is refused
   */
  public Resource create(Resource resource) {
    guard.require(Action.CREATE, resource.fhirType());
    return inTransaction(() -> created(resource.copy()).resource());
  }

  /**
   * Stores a new record of a client unless one matches a condition. Two such requests at once make
   * one record.
   *
   * @param resource the record
   * @param condition the condition
   * @return the new record, or the one that exists
   * @throws Problem when it is refused, or when several exist (412)
   */
  public Written createIfNone(Resource resource, Condition condition) {
    guard.require(Action.CREATE, resource.fhirType());
    return inTransaction(
        () -> {
          conditions.takeTurns(resource.fhirType(), List.of(condition));
          Optional<Resource> existing = conditions.match(resource.fhirType(), condition);
          if (existing.isPresent()) {
            noteRead(existing.get());
            return new Written(existing.get(), false);
          }
          Resource incoming = withNewId(resource.copy());
          conditions.claim(incoming, condition);
          return single(Interaction.CREATE, incoming, Optional.empty(), OptionalLong.empty());
        });
  }

  /**
   * Stores the next version of a record of a client, or the first under an id that the client
   * chose.
   *
   * @param resource the record, with its id
   * @param ifMatch the version that the client read, when it says so
   * @return the record as it stands once all consequences are drawn
   * @throws Problem when it is refused, or when the record has moved on from {@code ifMatch} (412)
   */
  public Written update(Resource resource, OptionalLong ifMatch) {
    guard.require(Action.UPDATE, resource.fhirType());
    return inTransaction(() -> replaced(resource.copy(), ifMatch));
  }

  /**
   * Stores the next version of the record that a condition matches, or a new record when it matches
   * none.
   *
   * @param resource the record, with or without its id
   * @param condition the condition
   * @param ifMatch the version that the client read, when it says so
   * @return the record as it stands once all consequences are drawn
   * @throws Problem when it is refused, when several match (412), or when the one that matches has
   *     another id (400)
   */
  public Written updateMatching(Resource resource, Condition condition, OptionalLong ifMatch) {
    guard.require(Action.UPDATE, resource.fhirType());
    return inTransaction(
        () -> {
          conditions.takeTurns(resource.fhirType(), List.of(condition));
          Resource incoming = resource.copy();
          Optional<Resource> match = conditions.match(incoming.fhirType(), condition);
          identify(incoming, match, condition);
          return replaced(incoming, ifMatch);
        });
  }

  /** Gives a conditional update the id of what it matches, or a new one. */
  void identify(Resource incoming, Optional<Resource> match, Condition condition) {
    if (match.isEmpty()) {
      if (incoming.getIdPart() == null) {
        withNewId(incoming);
      } else {
        withId(incoming, incoming.getIdPart());
      }
      conditions.claim(incoming, condition);
    } else {
      String id = match.get().getIdPart();
      if (incoming.getIdPart() != null && !incoming.getIdPart().equals(id)) {
        throw Problem.of(
            Problem.Kind.MISMATCH,
            "The record that matches has another id.",
            incoming.fhirType() + ".id");
      }
      withId(incoming, id);
    }
  }

  private Written created(Resource incoming) {
    return single(Interaction.CREATE, withNewId(incoming), Optional.empty(), OptionalLong.empty());
  }

  private Written replaced(Resource incoming, OptionalLong ifMatch) {
    withId(incoming, incoming.getIdPart());
    List<Resource> concerned = new ArrayList<>(List.of(incoming));
    find(incoming.fhirType(), incoming.getIdPart()).ifPresent(concerned::add);
    takeTurns(concerned);
    Optional<Resource> former = find(incoming.fhirType(), incoming.getIdPart());
    return single(Interaction.UPDATE, incoming, former, ifMatch);
  }

  /**
   * Changes a record of a client by a patch.
   *
   * @param address the record
   * @param ifMatch the version that the client read, when it says so
   * @param patch makes the next version of the current one
   * @return the record as it stands once all consequences are drawn
   * @throws Problem when there is no such record (404), when several match (412), or when what
   *     comes of the patch is refused
   */
  public Written patch(Address address, OptionalLong ifMatch, UnaryOperator<Resource> patch) {
    guard.require(Action.UPDATE, address.type());
    return inTransaction(
        () -> {
          Resource read = find(Action.UPDATE, address).orElseThrow(() -> absent(address));
          takeTurns(List.of(read));
          Resource former =
              find(Action.UPDATE, Address.of(read.fhirType(), read.getIdPart()))
                  .orElseThrow(() -> absent(address));
          versions.require(Optional.of(former), ifMatch, former);
          Resource incoming = patched(former, patch);
          takeTurns(List.of(incoming));
          return single(Interaction.PATCH, incoming, Optional.of(former), ifMatch);
        });
  }

  /** What comes of a patch, with the id that it must not change. */
  static Resource patched(Resource former, UnaryOperator<Resource> patch) {
    Resource incoming = patch.apply(former);
    boolean same =
        incoming.fhirType().equals(former.fhirType())
            && former.getIdPart().equals(incoming.getIdElement().getIdPart());
    if (!same) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE,
          "A patch changes neither type nor id.",
          former.fhirType() + ".id");
    }
    return withId(incoming, former.getIdPart());
  }

  /**
   * Deletes a record of a client: it is read and found no more, its history stays. Deleting what is
   * not there changes nothing.
   *
   * @param address the record
   * @param ifMatch the version that the client read, when it says so
   * @throws Problem when records of its type stay for good, when other records refer to it or a
   *     plan rests on it (409), or when several match (412)
   */
  public void delete(Address address, OptionalLong ifMatch) {
    guard.require(Action.DELETE, address.type());
    Types.requireDeletable(address.type());
    inTransaction(
        () -> {
          find(Action.DELETE, address)
              .ifPresentOrElse(
                  former -> {
                    takeTurns(List.of(former));
                    delete(former, ifMatch);
                    requireUnused(former);
                  },
                  () -> noteNothingDeleted(address));
          return null;
        });
  }

  /** Deletes a record, which others may still refer to. */
  void delete(Resource former, OptionalLong ifMatch) {
    versions.require(Optional.of(former), ifMatch, former);
    Stored last =
        store
            .find(former.fhirType(), former.getIdPart())
            .orElseThrow(() -> new LostRace(former.fhirType() + " deleted twice"));
    if (consequences.isResolvable()) {
      consequences.get().release(former, Optional.ofNullable(last.subject()));
    }
    store.delete(last, Instant.now().truncatedTo(ChronoUnit.MILLIS));
    Visit.did(
        Interaction.DELETE,
        former.fhirType() + "/" + former.getIdPart(),
        version(former),
        last.subject());
  }

  /** Notes that what was to be deleted was not there. */
  void noteNothingDeleted(Address address) {
    boolean named = address.condition().isEmpty();
    Visit.did(
        Interaction.DELETE, named ? address.type() + "/" + address.id() : address.type(), 0, null);
  }

  /** Notes that a client was shown a record. */
  void noteRead(Resource shown) {
    note(Interaction.READ, shown, IndexedRecord.of(shown, parameters).subject());
  }

  private static void note(Interaction what, Resource record, String subject) {
    Visit.did(what, record.fhirType() + "/" + record.getIdPart(), version(record), subject);
  }

  /** The person that a record is about which has just been written, or null. */
  private static String subject(Resource written) {
    return (String) written.getUserData(SUBJECT);
  }

  /** Requires that no record refers to one that has been deleted. */
  void requireUnused(Resource deleted) {
    String target = deleted.fhirType() + "/" + deleted.getIdPart();
    List<String> referrers = store.referrers(target, REFERRERS_NAMED);
    if (!referrers.isEmpty()) {
      boolean named =
          referrers.stream()
              .noneMatch(name -> guard.isRestricted(Action.READ, References.typeOf(name)));
      throw Problem.of(
          Problem.Kind.IN_USE,
          "%s is referred to by %s."
              .formatted(target, named ? String.join(", ", referrers) : "other records"),
          deleted.fhirType());
    }
  }

  /** Judges the creation of a record as if it were made. */
  void rehearseCreate(Resource resource) {
    guard.require(Action.CREATE, resource.fhirType());
    rehearse(() -> created(resource.copy()));
  }

  /** Judges the update of a record as if it were made. */
  void rehearseUpdate(Resource resource) {
    guard.require(Action.UPDATE, resource.fhirType());
    rehearse(
        () -> replaced(resource.copy(), standing(find(resource.fhirType(), resource.getIdPart()))));
  }

  /** Judges the deletion of a record as if it were made. */
  void rehearseDelete(Address address) {
    guard.require(Action.DELETE, address.type());
    Types.requireDeletable(address.type());
    rehearse(
        () -> {
          Resource former = find(Action.DELETE, address).orElseThrow(() -> absent(address));
          takeTurns(List.of(former));
          delete(former, standing(Optional.of(former)));
          requireUnused(former);
        });
  }

  /** The version that stands, as if the client had read it. */
  private static OptionalLong standing(Optional<Resource> record) {
    return record.map(known -> OptionalLong.of(version(known))).orElse(OptionalLong.empty());
  }

  /** Makes a write with all that follows from it, and undoes it. */
  private void rehearse(Runnable write) {
    try {
      inTransaction(
          () -> {
            write.run();
            throw new Rehearsed();
          });
    } catch (Rehearsed undone) {
      // It went to its end, so nothing speaks against it.
    }
  }

  /** Ends a rehearsal: what throws is undone. */
  private static final class Rehearsed extends RuntimeException {
    private static final long serialVersionUID = 1L;
  }

  /** The record that is named, when it is there and the caller reaches it by this action. */
  Optional<Resource> find(Action action, Address address) {
    Optional<Resource> named =
        address.condition().isPresent()
            ? conditions.match(address.type(), address.condition().get())
            : find(address.type(), address.id());
    return named.filter(found -> guard.reaches(action, found));
  }

  /**
   * The problem of a record that is not there: never was, or is no more.
   *
   * @param address the record
   * @return a problem of 404 or 410
   */
  public Problem absent(Address address) {
    if (address.condition().isPresent()) {
      return Problem.of(Problem.Kind.NOT_FOUND, "No " + address.type() + " matches the condition.");
    }
    boolean deleted =
        QuarkusTransaction.joiningExisting()
            .call(() -> store.deletion(address.type(), address.id()).filter(guard::knew))
            .isPresent();
    String name = address.type() + "/" + address.id();
    return deleted
        ? Problem.of(Problem.Kind.DELETED, name + " has been deleted.")
        : Problem.of(Problem.Kind.NOT_FOUND, "There is no " + name + " here.");
  }

  /**
   * Stores all entries of a transaction Bundle, or none.
   *
   * @param bundle a Bundle of the type {@code transaction}
   * @return a Bundle of the type {@code transaction-response}
   * @throws Problem when an entry is refused; it names the entry
   */
  public Bundle transact(Bundle bundle) {
    return transact(bundle, () -> {});
  }

  /**
   * Stores all entries of a transaction Bundle together with something else, or none.
   *
   * @param bundle a Bundle of the type {@code transaction}
   * @param also what else belongs to the transaction; it may be carried out anew after a lost race
   * @return a Bundle of the type {@code transaction-response}
   * @throws Problem when an entry is refused; it names the entry
   */
  public Bundle transact(Bundle bundle, Runnable also) {
    requireFew(bundle);
    return inTransaction(
        () -> {
          Bundle answer = new Transaction(this, bundle.copy()).run();
          also.run();
          return answer;
        });
  }

  /**
   * Carries out the entries of a batch Bundle, each by itself.
   *
   * @param bundle a Bundle of the type {@code batch}
   * @return a Bundle of the type {@code batch-response}
   */
  public Bundle batch(Bundle bundle) {
    requireFew(bundle);
    return new Batch(this).run(bundle);
  }

  private void requireFew(Bundle bundle) {
    if (bundle.getEntry().size() > limits.entries()) {
      throw Problem.of(
          Problem.Kind.TOO_LARGE,
          "A Bundle may have %d entries; this one has %d."
              .formatted(limits.entries(), bundle.getEntry().size()),
          "Bundle.entry");
    }
  }

  /**
   * A search of a client.
   *
   * @param type the type searched
   * @param given the parameters with their values
   * @param handling what becomes of a parameter that is not offered
   * @return the page
   * @throws Problem when a parameter is not offered, a value cannot be understood, or too many
   *     records would come along
   */
  public Page search(String type, Map<String, List<String>> given, Handling handling) {
    return searches.search(type, given, handling);
  }

  // ---- the engine, and reads for everyone ----

  /**
   * Writes a record of the service itself: the next version, or the first. Joins the transaction
   * that runs, or makes one.
   *
   * @param resource the record; it is given an id when it has none, and its new version
   * @return the same resource
   */
  public Resource put(Resource resource) {
    if (QuarkusTransaction.getStatus() == Status.STATUS_NO_TRANSACTION) {
      return inTransaction(() -> put(resource));
    }
    boolean fresh = resource.getIdPart() == null;
    if (fresh) {
      withNewId(resource);
    }
    long former = fresh ? 0 : store.currentVersion(resource.fhirType(), resource.getIdPart());
    Resource written = write(resource, former);
    outbox.get().wrote(written, former);
    return written;
  }

  /**
   * Writes a record that another clinic has handed over, in the version that it had there, within
   * the transaction that runs. Of what has happened there only the plan is news here.
   *
   * @param resource the record, with the id that it has here
   * @param version its version, above that of any version here
   */
  void receive(Resource resource, long version) {
    long former = store.currentVersion(resource.fhirType(), resource.getIdPart());
    write(resource, former, version);
    if (resource instanceof CarePlan) {
      outbox.get().wrote(resource, former);
    }
  }

  /** Whether no record has ever had an id. */
  boolean isFree(String type, String id) {
    return store.lastVersion(type, id) == 0;
  }

  /** Waits, within the transaction that runs, for other writers about a person to end. */
  void takeTurn(String subject) {
    store.takeTurns(new TreeSet<>(Set.of(subject)));
  }

  /** Writes records of the service itself about one person, in that person's turn. */
  void inTurn(String subject, Runnable writes) {
    inTransaction(
        () -> {
          store.takeTurns(new TreeSet<>(Set.of(subject)));
          writes.run();
          return null;
        });
  }

  /**
   * The current version of a record.
   *
   * @param type its type
   * @param id its id
   * @return the record, or empty when there is none
   */
  public Optional<Resource> find(String type, String id) {
    return QuarkusTransaction.joiningExisting().call(() -> store.find(type, id).map(this::parsed));
  }

  /**
   * The current version of a record.
   *
   * @param type its class
   * @param id its id
   * @param <T> its class
   * @return the record, or empty when there is none
   */
  public <T extends Resource> Optional<T> find(Class<T> type, String id) {
    return find(context.getResourceType(type), id).map(type::cast);
  }

  /**
   * A version of a record as it is stored, for a client, without reading its text.
   *
   * @param type its type
   * @param id its id
   * @param version its version; empty for the current one
   * @return the version, or empty when there is none that the caller may read
   * @throws Problem when the caller may read none of the type (403)
   */
  public Optional<Kept> kept(String type, String id, OptionalLong version) {
    guard.require(Action.READ, type);
    return QuarkusTransaction.joiningExisting()
        .call(
            () ->
                version.isPresent()
                    ? store.findVersion(type, id, version.getAsLong())
                    : store.find(type, id))
        .filter(stored -> guard.reaches(Action.READ, stored))
        .map(
            stored -> {
              Visit.did(
                  version.isPresent() ? Interaction.VREAD : Interaction.READ,
                  type + "/" + id,
                  stored.version(),
                  stored.subject());
              return new Kept(
                  stored.version(), stored.lastUpdated(), stored.json(), () -> parsed(stored));
            });
  }

  /**
   * The current version of a record that another one refers to; empty also where it is about a
   * person of whom the caller may know nothing.
   */
  Optional<Resource> findKnown(String type, String id) {
    return QuarkusTransaction.joiningExisting()
        .call(
            () ->
                store
                    .find(type, id)
                    .filter(found -> found.subject() == null || guard.knows(found.subject()))
                    .map(this::parsed));
  }

  /**
   * A version of a record, for a client.
   *
   * @param type its type
   * @param id its id
   * @param version its version; empty for the current one
   * @return the version, or empty when there is none that the caller may read
   * @throws Problem when the caller may read none of the type (403)
   */
  public Optional<Resource> read(String type, String id, OptionalLong version) {
    return kept(type, id, version).map(kept -> kept.parsed().get());
  }

  /**
   * The current version of the record that a reference points to.
   *
   * @param reference a reference
   * @return the record, or empty when it is not here
   */
  public Optional<Resource> find(Reference reference) {
    String normal = references.normal(reference.getReference());
    return References.isLocal(normal)
        ? find(References.typeOf(normal), References.idOf(normal))
        : Optional.empty();
  }

  /**
   * One version of a record.
   *
   * @param type its type
   * @param id its id
   * @param version its version, 1 or more
   * @return the version, or empty when there is none
   */
  public Optional<Resource> findVersion(String type, String id, long version) {
    return QuarkusTransaction.joiningExisting()
        .call(() -> store.findVersion(type, id, version).map(this::parsed));
  }

  /**
   * All records that match, oldest first by their own date, or by their last update where the type
   * has none.
   *
   * @param type their type
   * @param exactParams search parameters of the type with one value each, in FHIR's search syntax
   * @return the records
   */
  public List<Resource> list(String type, Map<String, String> exactParams) {
    Map<String, List<String>> given = new LinkedHashMap<>();
    exactParams.forEach((name, value) -> given.put(name, List.of(value)));
    return all(searching.read(type, given));
  }

  /**
   * All records of a class that match, oldest first.
   *
   * @param type their class
   * @param exactParams search parameters with one value each
   * @param <T> their class
   * @return the records
   */
  public <T extends Resource> List<T> list(Class<T> type, Map<String, String> exactParams) {
    return list(context.getResourceType(type), exactParams).stream().map(type::cast).toList();
  }

  /**
   * The newest records of a class that match, newest first.
   *
   * @param type their class
   * @param exactParams search parameters with one value each
   * @param most how many to return at the most, 1 or more
   * @param <T> their class
   * @return the records
   */
  public <T extends Resource> List<T> newest(
      Class<T> type, Map<String, String> exactParams, int most) {
    Map<String, List<String>> given = new LinkedHashMap<>();
    exactParams.forEach((name, value) -> given.put(name, List.of(value)));
    Query query = searching.read(context.getResourceType(type), given).limitedTo(most);
    return QuarkusTransaction.joiningExisting()
        .call(
            () ->
                store.search(query).stream().map(row -> type.cast(parsed(row.stored()))).toList());
  }

  /**
   * All records about one person, oldest first.
   *
   * @param type their type
   * @param subjectReference the person, in any form
   * @param codes the codes of which a record must have one, as {@code code} or {@code system|code};
   *     empty for all records
   * @return the records
   */
  public List<Resource> listBySubject(String type, String subjectReference, Set<String> codes) {
    Map<String, String> params = new LinkedHashMap<>();
    params.put(
        parameters.find(type, "subject").isPresent() ? "subject" : "patient", subjectReference);
    if (!codes.isEmpty()) {
      params.put("code", String.join(",", codes));
    }
    return list(type, params);
  }

  private List<Resource> all(Query query) {
    return QuarkusTransaction.joiningExisting()
        .call(() -> store.search(query.all()).stream().map(row -> parsed(row.stored())).toList());
  }

  /** Does work of the service's own about a person while no other writer about them does any. */
  <T> T inTurn(String subject, Supplier<T> work) {
    return inTransaction(
        () -> {
          store.takeTurns(new TreeSet<>(Set.of(subject)));
          return work.get();
        });
  }

  // ---- the parts of a client's write ----

  private Written single(
      Interaction by, Resource incoming, Optional<Resource> former, OptionalLong ifMatch) {
    if (former.isEmpty()) {
      takeTurns(List.of(incoming));
    }
    Change change = writeForClient(by, incoming, former, ifMatch, OptionalInt.empty());
    follow(List.of(change));
    return new Written(current(change.resource()), former.isEmpty());
  }

  /** Whether the caller may be shown a record that they have written. */
  public boolean shows(Resource written) {
    return guard.reaches(Action.READ, written);
  }

  /** Requires that the caller has a right for records of the type. */
  void require(Action action, String type) {
    guard.require(action, type);
  }

  /**
   * Judges and stores one write of a client.
   *
   * @param by how the client writes it: by create, update or patch
   * @param entry its place in a Bundle, empty when it came alone
   */
  Change writeForClient(
      Interaction by,
      Resource incoming,
      Optional<Resource> former,
      OptionalLong ifMatch,
      OptionalInt entry) {
    guard.requireWrite(
        by == Interaction.CREATE ? Action.CREATE : Action.UPDATE,
        incoming,
        former,
        incoming.getUserData(NEW) != null,
        () -> absent(Address.of(incoming.fhirType(), incoming.getIdPart())));
    versions.require(former, ifMatch, incoming);
    Resource admitted =
        consequences.isResolvable() ? consequences.get().admit(incoming, former) : incoming;
    admitted.setId(incoming.getIdElement());
    validation.requireValid(admitted);
    requirePeople(admitted);
    Resource written = write(admitted, former.map(Records::version).orElse(0L));
    outbox.get().wrote(written, former.map(Records::version).orElse(0L));
    note(former.isEmpty() ? Interaction.CREATE : by, written, subject(written));
    return new Change(written, former, entry);
  }

  /** Draws the consequences of all writes of a request. */
  void follow(List<Change> changes) {
    if (!changes.isEmpty() && consequences.isResolvable()) {
      spans.within(
          "decide",
          () -> {
            consequences.get().follow(changes);
            return changes;
          });
    }
  }

  /** The version that now stands: the engine may have written the same record since. */
  Resource current(Resource written) {
    String type = written.fhirType();
    String id = written.getIdPart();
    return outbox
        .get()
        .last(type, id)
        .filter(last -> version(last) != version(written))
        .flatMap(last -> find(type, id))
        .orElse(written);
  }

  /** Lets one writer at a time through for the people that these resources are about. */
  void takeTurns(Collection<Resource> resources) {
    takeTurns(
        resources.stream()
            .flatMap(resource -> subjectOf(resource).stream())
            .collect(Collectors.toCollection(TreeSet::new)));
  }

  /** Lets one writer at a time through for these people. */
  void takeTurns(SortedSet<String> subjects) {
    store.takeTurns(subjects);
  }

  /** Whom a resource is about. */
  Optional<String> subjectOf(Resource resource) {
    return Optional.ofNullable(IndexedRecord.of(resource, parameters).subject());
  }

  /** Conditions on records, and who takes turns on them. */
  Conditions conditions() {
    return conditions;
  }

  References references() {
    return references;
  }

  Patches patches() {
    return patches;
  }

  /** Those of some ids under which no record has been. */
  Set<String> unused(String type, Set<String> ids) {
    return store.unused(type, ids);
  }

  /** Notes that no record has had its id. */
  static void withUnusedId(Resource resource) {
    resource.setUserData(UNUSED, true);
  }

  /** Gives a record an id that no record has had. */
  static Resource withNewId(Resource resource) {
    withId(resource, ResourceStore.newId()).setUserData(NEW, true);
    return resource;
  }

  static Resource withId(Resource resource, String id) {
    if (id == null || !ID.matcher(id).matches()) {
      throw Problem.of(
          Problem.Kind.INVALID_VALUE,
          "An id has 1 to 64 letters, digits, '-' or '.'.",
          resource.fhirType() + ".id");
    }
    resource.setId(resource.fhirType() + "/" + id);
    return resource;
  }

  private void requirePeople(Resource resource) {
    ReferenceWalk.each(
        resource,
        (path, reference) -> {
          String target = references.normal(reference.getReference());
          if (target.startsWith("Patient/")
              && References.isLocal(target)
              && (!guard.knows(target) || !isHere(target))) {
            throw Problem.of(
                Problem.Kind.UNKNOWN_REFERENCE, "There is no " + target + " here.", path);
          }
        });
  }

  /** Whether a person is here; asked once in a transaction, for all that it writes about them. */
  @SuppressWarnings("unchecked")
  private boolean isHere(String patient) {
    Set<String> met = (Set<String>) transactions.getResource(MET);
    if (met == null) {
      met = new HashSet<>();
      transactions.putResource(MET, met);
    }
    return met.contains(patient)
        || (store.currentVersion("Patient", References.idOf(patient)) > 0 && met.add(patient));
  }

  private Resource write(Resource resource, long former) {
    long version = 1;
    if (former > 0) {
      version += former;
    } else if (resource.getUserData(NEW) == null && resource.getUserData(UNUSED) == null) {
      version += store.lastPastVersion(resource.fhirType(), resource.getIdPart());
    }
    return write(resource, former, version);
  }

  private Resource write(Resource resource, long former, long version) {
    Instant now = Instant.now().truncatedTo(ChronoUnit.MILLIS);
    String type = resource.fhirType();
    String id = resource.getIdPart();
    resource.setId(type + "/" + id + "/_history/" + version);
    resource
        .getMeta()
        .setVersionId(Long.toString(version))
        .setLastUpdated(java.util.Date.from(now));
    IndexedRecord indexed = IndexedRecord.of(resource, parameters);
    resource.setUserData(SUBJECT, indexed.subject());
    String json = context.newJsonParser().encodeResourceToString(resource);
    store.write(
        new Stored(type, id, version, indexed.subject(), json, now),
        indexed.values(parameters, now.toEpochMilli()),
        former);
    return resource;
  }

  private Resource parsed(Stored stored) {
    return FhirModel.parsed(context, stored);
  }

  static long version(Resource resource) {
    return Long.parseLong(resource.getMeta().getVersionId());
  }

  private <T> T inTransaction(Supplier<T> work) {
    return spans.within("transaction", () -> untilNobodyElseWins(work));
  }

  private <T> T untilNobodyElseWins(Supplier<T> work) {
    int mark = trail.mark();
    for (int attempt = 1; attempt <= ATTEMPTS; attempt++) {
      try {
        T done =
            QuarkusTransaction.requiringNew()
                .timeout(TRANSACTION_SECONDS)
                .call(
                    () -> {
                      T result = store.together(work);
                      outbox.get().flush();
                      trail.keep(mark);
                      return result;
                    });
        trail.kept(mark);
        return done;
      } catch (RuntimeException e) {
        trail.forget(mark);
        if (!LostRace.isLostRace(e)) {
          throw e;
        }
        pause(attempt);
      }
    }
    throw Problem.of(Problem.Kind.BUSY, "Too many writers at once; please send the request again.");
  }

  private static void pause(int attempt) {
    try {
      Thread.sleep(ThreadLocalRandom.current().nextLong(1, 5L * attempt + 2));
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
      throw Problem.of(Problem.Kind.BUSY, "The service is stopping; please send it again.");
    }
  }
}
