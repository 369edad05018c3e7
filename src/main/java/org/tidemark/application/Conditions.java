package org.tidemark.application;

import ca.uhn.fhir.context.FhirContext;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.Collection;
import java.util.List;
import java.util.Optional;
import java.util.TreeSet;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.access.Action;
import org.tidemark.fhir.Problem;
import org.tidemark.store.Query;
import org.tidemark.store.ResourceStore;

/**
 * Finds what a condition matches, and keeps two writers under the same condition apart. Every
 * method joins the transaction of the write.
 */
@ApplicationScoped
class Conditions {
  private final ResourceStore store;
  private final FhirContext context;
  private final Searching searching;
  private final Guard guard;

  Conditions(ResourceStore store, FhirContext context, Searching searching, Guard guard) {
    this.guard = guard;
    this.store = store;
    this.context = context;
    this.searching = searching;
  }

  /** The one record that matches a condition among those that the caller finds, if there is one. */
  Optional<Resource> match(String type, Condition condition) {
    guard.require(Action.SEARCH, type);
    List<ResourceStore.Found> found = store.search(guard.narrowed(query(type, condition)));
    if (found.size() > 1) {
      throw Problem.of(
          Problem.Kind.MULTIPLE_MATCHES,
          "More than one " + type + " matches the condition.",
          condition.expression());
    }
    return found.stream().findFirst().map(row -> FhirModel.parsed(context, row.stored()));
  }

  private Query query(String type, Condition condition) {
    if (condition.identifier().isPresent()) {
      Condition.Identifier identifier = condition.identifier().get();
      Query.TokenTest test =
          new Query.TokenTest(Optional.of(identifier.system()), Optional.of(identifier.value()));
      return Query.byId(type, List.of(new Query.Tokens("identifier", List.of(test))), 2);
    }
    try {
      return searching.read(type, condition.query()).limitedTo(2);
    } catch (Problem notUnderstood) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST, notUnderstood.getMessage(), condition.expression());
    }
  }

  /** Lets one at a time through of those who set the same conditions. */
  void takeTurns(String type, Collection<Condition> conditions) {
    TreeSet<String> turns = new TreeSet<>();
    conditions.stream()
        .filter(condition -> condition.identifier().isEmpty() || isRestricted(type))
        .forEach(condition -> turns.add(condition.turn(type)));
    store.takeTurns(turns);
  }

  /** Who does not find all records does not learn from a key that another record has it. */
  private boolean isRestricted(String type) {
    return guard.isRestricted(Action.SEARCH, type);
  }

  /**
   * Takes the identifier of a condition for a new record, so that no other gets it. Where a record
   * that the caller does not find has it already, there is nothing to take.
   */
  void claim(Resource incoming, Condition condition) {
    condition
        .identifier()
        .filter(
            identifier ->
                !isRestricted(incoming.fhirType())
                    || !store.isClaimed(
                        incoming.fhirType(), identifier.system(), identifier.value()))
        .ifPresent(
            identifier ->
                store.claim(
                    incoming.fhirType(),
                    identifier.system(),
                    identifier.value(),
                    incoming.getIdPart()));
  }
}
