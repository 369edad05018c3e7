package org.tidemark.access;

import java.util.Arrays;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Stream;

/**
 * What a token grants.
 *
 * @param scopes its scopes for records
 * @param person the normalised reference to the person it is for; empty when it names none, and
 *     then a scope of {@code patient/} grants nothing
 * @param user the reference to the user that the token names as {@code fhirUser}
 * @param bearer who uses the token, as the issuer knows them
 */
public record Grants(
    List<Scope> scopes, Optional<String> person, Optional<String> user, Bearer bearer) {
  /** Grants nothing. */
  public static final Grants NONE =
      new Grants(List.of(), Optional.empty(), Optional.empty(), Bearer.UNKNOWN);

  /**
   * Who uses a token. What is not told is empty.
   *
   * @param client the id of the client that it was given to
   * @param subject the id of the user for whom it was given
   */
  public record Bearer(String client, String subject) {
    /** Nobody that is known. */
    public static final Bearer UNKNOWN = new Bearer("", "");
  }

  /**
   * The types whose records are mostly about nobody: definitions, and those who treat. A scope of
   * {@code patient/} lets them be read and not written.
   */
  private static final Set<String> SHARED =
      Set.of(
          "ActivityDefinition",
          "CodeSystem",
          "Device",
          "OperationDefinition",
          "Organization",
          "PlanDefinition",
          "Practitioner",
          "PractitionerRole",
          "Questionnaire",
          "StructureDefinition",
          "ValueSet");

  private static final Set<Action> LOOKING = Set.of(Action.READ, Action.SEARCH);

  /** Copies the scopes. */
  public Grants {
    scopes = List.copyOf(scopes);
  }

  /**
   * Reads the scopes of a token. What is not a scope for records, or not well-formed, grants
   * nothing.
   *
   * @param scopes the scopes, separated by spaces
   * @param patient the id of the person that the token is for
   * @param user the reference to its user
   */
  public static Grants of(String scopes, Optional<String> patient, Optional<String> user) {
    return new Grants(
        Arrays.stream(scopes.split(" ")).map(Scope::parse).flatMap(Optional::stream).toList(),
        patient.map(id -> "Patient/" + id),
        user,
        Bearer.UNKNOWN);
  }

  /** The same, used by somebody. */
  public Grants by(Bearer known) {
    return new Grants(scopes, person, user, known);
  }

  /** Which records of a type are reached by an action. */
  public Reach reach(Action action, String type) {
    return new Reach(
        scopes.stream()
            .filter(scope -> scope.covers(action, type))
            .flatMap(scope -> rights(scope, action, type))
            .distinct()
            .toList());
  }

  private Stream<Right> rights(Scope scope, Action action, String type) {
    if (scope.context() != Scope.Context.PATIENT) {
      return Stream.of(new Right(Right.Whose.ANYONE, "", scope.conditions()));
    }
    boolean shared = SHARED.contains(type);
    if (person.isEmpty() || (shared && !LOOKING.contains(action))) {
      return Stream.empty();
    }
    Right own = new Right(Right.Whose.PERSON, person.get(), scope.conditions());
    return shared
        ? Stream.of(own, new Right(Right.Whose.NOBODY, "", scope.conditions()))
        : Stream.of(own);
  }

  /** Whether an action on a type is allowed in one of these contexts. */
  public boolean allows(Action action, String type, Set<Scope.Context> contexts) {
    return scopes.stream()
        .anyMatch(scope -> contexts.contains(scope.context()) && scope.covers(action, type));
  }

  /**
   * Whether it may learn that a person is here.
   *
   * @param subject the normalised reference to the person
   */
  public boolean knows(String subject) {
    return person.filter(subject::equals).isPresent()
        || scopes.stream().anyMatch(scope -> scope.context() != Scope.Context.PATIENT);
  }
}
