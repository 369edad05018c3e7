package org.tidemark.application;

import ca.uhn.fhir.context.FhirContext;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.function.Predicate;
import java.util.function.Supplier;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.access.Action;
import org.tidemark.access.Grants;
import org.tidemark.access.Reach;
import org.tidemark.access.Right;
import org.tidemark.access.Scope;
import org.tidemark.audit.Visit;
import org.tidemark.clinic.Clinic;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.fhir.SearchParameters;
import org.tidemark.store.HistoryQuery;
import org.tidemark.store.Query;
import org.tidemark.store.SearchValues;
import org.tidemark.store.Stored;

/**
 * Judges what the {@link Caller} may do. It is asked where records are read and written for
 * clients, so that no way to a record leads past it: neither an entry of a Bundle nor a text that
 * is served as it is stored.
 *
 * <p>Without a right for a type a request is refused. A record that the rights for its type do not
 * reach is as one that does not exist.
 */
@ApplicationScoped
public class Guard {
  /** What is told about a plan beyond its own record. */
  private static final List<String> PLAN =
      List.of("CarePlan", "Flag", "Goal", "Observation", "Patient", "ServiceRequest", "Task");

  /** What goes along when a plan is handed over: its trail and papers. */
  private static final List<String> TRAIL =
      List.of(
          "Binary",
          "DetectedIssue",
          "DocumentReference",
          "GuidanceResponse",
          "Provenance",
          "QuestionnaireResponse",
          "RiskAssessment");

  private static final Set<String> CLINICIANS = Set.of("Practitioner", "PractitionerRole");

  private final SearchParameters parameters;
  private final FhirContext context;
  private final References references;

  Guard(SearchParameters parameters, FhirContext context, References references) {
    this.references = references;
    this.parameters = parameters;
    this.context = context;
  }

  // ---- types ----

  /** Requires a right for records of the type; which of them is judged by the records. */
  void require(Action action, String type) {
    if (reach(action, type).isNothing()) {
      throw forbidden(action, type);
    }
  }

  private static Problem forbidden(Action action, String type) {
    return Problem.of(
        Problem.Kind.FORBIDDEN,
        "The token does not allow to %s %s here; a scope such as user/%s.%c does."
            .formatted(action.word(), type, type, action.letter()));
  }

  /** Requires that records of one of the types may be seen, and leaves out those that may not. */
  Set<String> requireSeen(Set<String> types) {
    Set<String> seen =
        types.stream().filter(type -> !seen(type).isNothing()).collect(Collectors.toSet());
    if (seen.isEmpty() && !types.isEmpty()) {
      throw forbidden(Action.SEARCH, types.iterator().next());
    }
    return seen;
  }

  /** Whether only some records of the type are reached, or none. */
  boolean isRestricted(Action action, String type) {
    return !reach(action, type).isEverything();
  }

  /** A right whose condition is on something that is not offered, or is no code, is none. */
  private Reach reach(Action action, String type) {
    return Caller.current()
        .reach(action, type)
        .only(
            right -> right.conditions().stream().allMatch(condition -> isOffered(condition, type)));
  }

  private boolean isOffered(Scope.Condition condition, String type) {
    return Types.isServed(type)
        && parameters
            .find(type, condition.parameter())
            .filter(parameter -> parameter.form() == SearchParameters.Form.TOKEN)
            .filter(parameter -> isUnderstood(condition))
            .isPresent();
  }

  private static boolean isUnderstood(Scope.Condition condition) {
    try {
      criterion(condition);
      return true;
    } catch (Problem notUnderstood) {
      return false;
    }
  }

  /** What may be looked at in any way. */
  private Reach seen(String type) {
    return reach(Action.READ, type).or(reach(Action.SEARCH, type));
  }

  // ---- people ----

  /** Whether the caller may learn that a person is here. */
  boolean knows(String subject) {
    return Caller.current().knows(subject);
  }

  /**
   * Requires that the caller may read everything that a plan of a person is told from.
   *
   * @param subject the normalised reference to the person
   */
  void requirePlan(String subject) {
    Visit.about(subject);
    PLAN.forEach(type -> requireAllAbout(subject, type));
  }

  /**
   * Requires that the caller may read all that is handed over with a plan of a person.
   *
   * @param subject the normalised reference to the person
   */
  void requireRecord(String subject) {
    requirePlan(subject);
    TRAIL.forEach(type -> requireAllAbout(subject, type));
  }

  /** Requires that the caller may read all records of a type about a person. */
  void requireAllAbout(String subject, String type) {
    Visit.about(subject);
    if (!reach(Action.READ, type).coversAllAbout(subject)) {
      throw forbidden(Action.READ, type);
    }
  }

  /**
   * Requires that the caller may read and search everything that the plans of all people are told
   * from: for the pages and cards.
   */
  public void requireClinic() {
    PLAN.forEach(this::requireAll);
  }

  /**
   * A system that calls hooks and has shown who it is: it may see all that cards are told from, and
   * do nothing.
   *
   * @param client who it is
   * @param clinic whose hooks it calls
   */
  public static Caller cardReader(String client, Clinic clinic) {
    String scopes =
        PLAN.stream().map(type -> "system/" + type + ".rs").collect(Collectors.joining(" "));
    return Caller.with(
        Grants.of(scopes, Optional.empty(), Optional.empty()).by(new Grants.Bearer(client, "")),
        clinic);
  }

  /** The scopes that a token lacks for the pages, as a user would be given them. */
  public List<String> missing(Grants grants) {
    return PLAN.stream()
        .filter(
            type ->
                !grants.reach(Action.READ, type).isEverything()
                    || !grants.reach(Action.SEARCH, type).isEverything())
        .map(type -> "user/" + type + ".rs")
        .toList();
  }

  /** Requires that the caller may read and search all records of a type: what tells of each. */
  void requireAll(String type) {
    requireAll(Action.READ, type);
    requireAll(Action.SEARCH, type);
  }

  /** Requires a right for all records of a type. */
  void requireAll(Action action, String type) {
    if (isRestricted(action, type)) {
      throw forbidden(action, type);
    }
  }

  /** Those of some types of which the caller may read and search all records; one at least. */
  List<String> whole(List<String> types) {
    List<String> whole =
        types.stream()
            .filter(type -> !isRestricted(Action.READ, type))
            .filter(type -> !isRestricted(Action.SEARCH, type))
            .toList();
    if (whole.isEmpty()) {
      throw forbidden(Action.SEARCH, types.get(0));
    }
    return whole;
  }

  /** Requires that the caller may create what a plan is told from, about anyone. */
  public void requireTaking() {
    for (String type : PLAN) {
      if (isRestricted(Action.CREATE, type)) {
        throw forbidden(Action.CREATE, type);
      }
    }
  }

  // ---- acts ----

  /**
   * Requires a clinician for what answers for a plan: a token with a scope of {@code user/} for the
   * record, whose {@code fhirUser} is a Practitioner or a PractitionerRole. Where access is open
   * everyone counts as one.
   *
   * @param act what they do, such as {@code sets an exercise by hand}
   */
  public void requireClinician(String act, Resource record) {
    boolean byUser = allows(Action.UPDATE, record, Set.of(Scope.Context.USER));
    boolean open = Caller.current().grants().isEmpty();
    if (!open && (!byUser || clinician().isEmpty())) {
      throw Problem.of(
          Problem.Kind.FORBIDDEN,
          ("Only a clinician %s: the token needs a scope such as user/%s.u, and as fhirUser a"
                  + " Practitioner or PractitionerRole.")
              .formatted(act, record.fhirType()),
          record.fhirType());
    }
  }

  /** Requires more than a right for one's own records, for what binds a plan from outside. */
  void requireStaff(Action action, Resource record) {
    if (!allows(action, record, Set.of(Scope.Context.USER, Scope.Context.SYSTEM))) {
      throw Problem.of(
          Problem.Kind.FORBIDDEN,
          "Nobody writes precautions about themselves: the token needs a scope of user/ or system/"
              + " for them.",
          record.fhirType());
    }
  }

  private static boolean allows(Action action, Resource record, Set<Scope.Context> contexts) {
    return Caller.current()
        .grants()
        .map(grants -> grants.allows(action, record.fhirType(), contexts))
        .orElse(true);
  }

  /** The clinician for whom the request is made, by the token's {@code fhirUser}. */
  Optional<String> clinician() {
    return Caller.current().grants().flatMap(this::clinician);
  }

  /** The clinician whom a token names as {@code fhirUser}. */
  public Optional<String> clinician(Grants grants) {
    return grants
        .user()
        .map(references::normal)
        .filter(user -> CLINICIANS.contains(References.typeOf(user)));
  }

  // ---- records ----

  /** Whether the caller reaches a version of a record. */
  boolean reaches(Action action, Stored stored) {
    return reaches(
        reach(action, stored.type()), stored::subject, () -> FhirModel.parsed(context, stored));
  }

  /** Whether the caller reaches a record as it is. */
  boolean reaches(Action action, Resource resource) {
    return reaches(
        reach(action, resource.fhirType()),
        () -> IndexedRecord.of(resource, parameters).subject(),
        () -> resource);
  }

  /** Whether the caller may look at a version of a record in any way. */
  boolean sees(Stored stored) {
    return reaches(seen(stored.type()), stored::subject, () -> FhirModel.parsed(context, stored));
  }

  private boolean reaches(Reach reach, Supplier<String> about, Supplier<Resource> record) {
    if (reach.isEverything()) {
      return true;
    }
    String subject = about.get();
    return reach.coversAllAbout(subject)
        || reach.rights().stream()
            .anyMatch(right -> right.covers(subject) && meets(right, record.get()));
  }

  private boolean meets(Right right, Resource record) {
    Set<SearchValues.Token> tokens =
        IndexedRecord.of(record, parameters).values(parameters, 0).tokens();
    return right.conditions().stream()
        .map(Guard::criterion)
        .allMatch(
            wanted ->
                tokens.stream()
                    .filter(token -> token.parameter().equals(wanted.parameter()))
                    .anyMatch(token -> wanted.any().stream().anyMatch(test -> meets(test, token))));
  }

  private static boolean meets(Query.TokenTest test, SearchValues.Token token) {
    return test.system().map(token.system()::equals).orElse(true)
        && test.code().map(token.code()::equals).orElse(true);
  }

  private static Query.Tokens criterion(Scope.Condition condition) {
    return Searching.tokens(condition.parameter(), condition.value());
  }

  /** Whether the caller may learn that there was a record of which the last version is known. */
  boolean knew(Stored last) {
    return Arrays.stream(Action.values())
        .anyMatch(action -> reach(action, last.type()).coversAllAbout(last.subject()));
  }

  /**
   * Judges a write. A record that is not reached is as one that does not exist; and who reaches
   * only some records does not choose ids, so that nobody learns from a refusal which are taken.
   *
   * @param incoming the record as it would be
   * @param former as it stands, if it does
   * @param absent the problem of a record that does not exist
   */
  void requireWrite(
      Action action,
      Resource incoming,
      Optional<Resource> former,
      boolean ownId,
      Supplier<Problem> absent) {
    boolean reached =
        former.isPresent()
            ? reaches(action, former.get())
            : ownId || !isRestricted(action, incoming.fhirType());
    if (!reached) {
      throw absent.get();
    }
    if (!reaches(action, incoming)) {
      throw Problem.of(
          Problem.Kind.FORBIDDEN,
          "The token does not allow to %s this %s: it is about somebody else, or not of the kind that the scopes name."
              .formatted(action.word(), incoming.fhirType()),
          incoming.fhirType());
    }
  }

  // ---- searches and histories ----

  /** The same search for what the caller reaches. */
  Query narrowed(Query query) {
    return narrowed(query, reach(Action.SEARCH, query.type()));
  }

  /** The same search for what the caller may look at in any way. */
  Query narrowedToSeen(Query query) {
    return narrowed(query, seen(query.type()));
  }

  private static Query narrowed(Query query, Reach reach) {
    if (reach.isEverything()) {
      return query;
    }
    Query about = aboutPerson(query, reach);
    boolean free = reach.rights().stream().anyMatch(right -> rest(right, about).isEmpty());
    return free
        ? about
        : about.and(
            new Query.Either(reach.rights().stream().map(right -> rest(right, about)).toList()));
  }

  /** Where all rights are about one person, that person's index is used. */
  private static Query aboutPerson(Query query, Reach reach) {
    Set<String> people = reach.rights().stream().map(Right::person).collect(Collectors.toSet());
    boolean one = people.size() == 1 && !people.contains("");
    return one ? query.about(people.iterator().next()) : query;
  }

  /** What a right asks of a record that a query does not ask already. */
  private static List<Query.Criterion> rest(Right right, Query query) {
    List<Query.Criterion> all = new ArrayList<>();
    right.conditions().stream().map(Guard::criterion).forEach(all::add);
    switch (right.whose()) {
      case PERSON -> {
        if (!query.subjects().equals(Set.of(right.person()))) {
          all.add(new Query.About(Set.of(right.person())));
        }
      }
      case NOBODY -> all.add(new Query.Not(new Query.HasSubject()));
      case ANYONE -> {}
    }
    return all;
  }

  /**
   * Which versions of records a history may show; empty for all. What past versions could be found
   * by is not kept, so that a right with a condition counts in the history of one record only, of
   * which each version is looked at.
   */
  List<HistoryQuery.Part> parts(Optional<String> type, boolean ofRecord) {
    Action action = ofRecord ? Action.READ : Action.SEARCH;
    Predicate<Right> counts = right -> ofRecord || !right.isConditional();
    List<String> types = type.map(List::of).orElseGet(() -> Types.served().toList());
    boolean everything = types.stream().noneMatch(each -> isRestricted(action, each));
    List<HistoryQuery.Part> parts = new ArrayList<>();
    for (String each : everything ? List.<String>of() : types) {
      reach(action, each).only(counts).rights().stream()
          .map(right -> part(each, right))
          .distinct()
          .forEach(parts::add);
    }
    if (!everything && parts.isEmpty()) {
      throw forbidden(action, type.orElse("any type"));
    }
    return parts;
  }

  private static HistoryQuery.Part part(String type, Right right) {
    return switch (right.whose()) {
      case ANYONE -> new HistoryQuery.Part(type, Optional.empty(), false);
      case PERSON -> new HistoryQuery.Part(type, Optional.of(right.person()), false);
      case NOBODY -> new HistoryQuery.Part(type, Optional.empty(), true);
    };
  }
}
