package org.tidemark.recordsystem;

import java.util.Optional;
import java.util.function.UnaryOperator;
import java.util.regex.Pattern;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Meta;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.ReferenceWalk;

/**
 * A record as another server has given it, and as it is kept here: with its version there as {@code
 * meta.source}.
 *
 * @param address its address there, without its version
 * @param given the record as it was given
 */
record ImportedRecord(String address, Resource given) {
  static final String VERSION = "/_history/";

  private static final Pattern ABOUT = Pattern.compile("[A-Za-z]+\\.(subject|patient)");

  /**
   * A record of a server.
   *
   * @param base the endpoint of the server, with a slash at the end
   */
  static ImportedRecord of(String base, Resource given) {
    return new ImportedRecord(
        base + given.fhirType() + "/" + given.getIdElement().getIdPart(), given);
  }

  String id() {
    return given.getIdElement().getIdPart();
  }

  /** What it is kept to come from. */
  private String source() {
    return given.getMeta().hasVersionId()
        ? address + VERSION + given.getMeta().getVersionId()
        : address;
  }

  /**
   * Requires that what is here under its id is an earlier version of it, and nothing that only a
   * clinician changes.
   *
   * @throws Problem when it is another record, or a plan
   */
  void requireChangeable(Resource here) {
    if (!isFromThere(here)) {
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

  /** Whether what is here is some version of it. */
  boolean isFromThere(Resource here) {
    String source = here.getMeta().hasSource() ? here.getMeta().getSource() : "";
    return source.equals(address) || source.startsWith(address + VERSION);
  }

  /** Whether what is here is this very version. */
  boolean isKnown(Optional<Resource> here) {
    return given.getMeta().hasVersionId()
        && here.filter(one -> source().equals(one.getMeta().getSource())).isPresent();
  }

  /**
   * As it is kept.
   *
   * @param id under which id
   * @param here what a reference of its own is here; empty for what it cannot be
   * @throws Problem when that is so of the person whom it is about
   */
  Resource kept(String id, UnaryOperator<String> here) {
    Resource kept = given.copy();
    kept.setId(given.fhirType() + "/" + id);
    Meta meta = kept.getMeta();
    meta.setVersionIdElement(null).setLastUpdatedElement(null).setSource(source());
    ReferenceWalk.each(
        kept,
        (path, reference) -> {
          String local = here.apply(reference.getReference());
          if (local.isEmpty() && ABOUT.matcher(path).matches()) {
            throw Problem.of(
                Problem.Kind.UNKNOWN_REFERENCE, "Whom it is about has not come along.", path);
          }
          if (local.isEmpty() && !reference.hasDisplay()) {
            reference.setDisplay("Not received");
          }
          // Where the parser has linked it, the link would be written instead.
          reference.setResource(null);
          reference.setReference(local.isEmpty() ? null : local);
        });
    return kept;
  }
}
