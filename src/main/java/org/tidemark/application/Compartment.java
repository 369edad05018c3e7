package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.List;
import java.util.Set;
import java.util.stream.Stream;
import org.tidemark.fhir.SearchParameters;

/** The types whose records are about people. */
@ApplicationScoped
class Compartment {
  /** A trail is about a person by what it is the trail of. */
  static final String PROVENANCE = "Provenance";

  /** Types that say whom they are about without a search parameter. */
  private static final Set<String> WITHOUT_PARAMETER = Set.of("Patient", PROVENANCE, "Binary");

  /** A trail of a person's records names no person, and a Device may be anybody's. */
  private static final Set<String> ALSO_OF_OTHERS = Set.of(PROVENANCE, "Device");

  private final SearchParameters parameters;
  private final List<String> types;

  Compartment(SearchParameters parameters) {
    this.parameters = parameters;
    this.types = Types.served().filter(this::isAboutPeople).toList();
  }

  private boolean isAboutPeople(String type) {
    return WITHOUT_PARAMETER.contains(type)
        || Stream.of("patient", "subject")
            .anyMatch(name -> parameters.find(type, name).isPresent());
  }

  /** The types, in the order in which they are served. */
  List<String> types() {
    return types;
  }

  /** Whether records of the type that are about nobody are none of a person's. */
  boolean isOnlyAboutPeople(String type) {
    return types.contains(type) && !ALSO_OF_OTHERS.contains(type);
  }
}
