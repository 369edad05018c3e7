package org.tidemark.recordsystem;

import java.net.URI;
import java.util.List;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Reference;
import org.tidemark.fhir.ReferenceWalk;

/**
 * An Observation as a record system gives it, and as it is kept here: about our record of the
 * person, with its id there as an identifier, and its version there as {@code meta.source}.
 *
 * @param base the endpoint of the record system, with a slash at the end
 * @param given the Observation as it was given
 */
record PulledObservation(URI base, Observation given) {
  private static final String TYPE = "Observation";

  String id() {
    return given.getIdElement().getIdPart();
  }

  /** Its version there, by its number or else by its moment. */
  String version() {
    return given.getMeta().hasVersionId()
        ? given.getMeta().getVersionId()
        : given.getMeta().getLastUpdatedElement().getValueAsString();
  }

  /** The identifier that it is known by here. */
  Identifier identifier() {
    return new Identifier().setSystem(base + TYPE).setValue(id());
  }

  /** What it is kept to come from. */
  String source() {
    return base + TYPE + "/" + id() + "/_history/" + version();
  }

  /** Whether one that is kept here is this very version. */
  boolean isKept(List<Observation> kept) {
    return kept.stream().anyMatch(one -> source().equals(one.getMeta().getSource()));
  }

  /**
   * As it is kept. What it refers to besides the person stays where it is.
   *
   * @param person our record of the person
   */
  Observation about(Reference person) {
    Observation kept = given.copy();
    kept.setId((String) null);
    kept.getMeta().setVersionIdElement(null).setLastUpdatedElement(null).setSource(source());
    kept.addIdentifier(identifier());
    ReferenceWalk.each(
        kept,
        (path, reference) -> {
          String text = reference.getReference();
          if (!text.startsWith("#") && !URI.create(text).isAbsolute()) {
            reference.setReference(base + text);
          }
        });
    return kept.setSubject(person);
  }
}
