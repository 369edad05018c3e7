package org.tidemark.recordsystem;

import java.util.Optional;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Meta;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.ReferenceWalk;

/**
 * A record as another server has exported it, and as it is kept here: under the same id, with its
 * version there as {@code meta.source}.
 *
 * @param base the endpoint of the server, with a slash at the end
 * @param given the record as it was given
 */
record ImportedRecord(String base, Resource given) {
  private static final String VERSION = "/_history/";

  /** Its address there, without its version. */
  private String address() {
    return base + given.fhirType() + "/" + id();
  }

  String id() {
    return given.getIdElement().getIdPart();
  }

  /** What it is kept to come from. */
  private String source() {
    return given.getMeta().hasVersionId()
        ? address() + VERSION + given.getMeta().getVersionId()
        : address();
  }

  /**
   * Requires that what is here under its id is an earlier version of it, and nothing that only a
   * clinician changes.
   *
   * @throws Problem when it is another record, or a plan
   */
  void requireChangeable(Resource here) {
    String source = here.getMeta().hasSource() ? here.getMeta().getSource() : "";
    if (!source.equals(address()) && !source.startsWith(address() + VERSION)) {
      throw Problem.of(
          Problem.Kind.DUPLICATE, "Another record has this id here.", given.fhirType() + ".id");
    }
    if (given instanceof CarePlan) {
      throw Problem.of(
          Problem.Kind.BUSINESS_RULE,
          "A plan that is here is changed here; an import does not.",
          "CarePlan");
    }
  }

  /** Whether what is here is this very version. */
  boolean isKnown(Optional<Resource> here) {
    return given.getMeta().hasVersionId()
        && here.filter(one -> source().equals(one.getMeta().getSource())).isPresent();
  }

  /** As it is kept. */
  Resource kept() {
    Resource kept = given.copy();
    kept.setId(given.fhirType() + "/" + id());
    Meta meta = kept.getMeta();
    meta.setVersionIdElement(null).setLastUpdatedElement(null).setSource(source());
    ReferenceWalk.each(
        kept,
        (path, reference) -> {
          if (reference.getReference().startsWith(base)) {
            reference.setReference(reference.getReference().substring(base.length()));
          }
        });
    return kept;
  }
}
