package org.tidemark.application;

import java.util.Optional;
import java.util.OptionalInt;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.Problem;

/**
 * A record that a client wrote.
 *
 * @param resource what was written, with its id and {@code meta.versionId}
 * @param former the version before, empty when the record is new
 * @param entry its place in the Bundle that brought it, from 0; empty when it came alone
 */
public record Change(Resource resource, Optional<Resource> former, OptionalInt entry) {

  /** A problem with this record, as the client knows it: by its place in the Bundle. */
  Problem named(Problem problem) {
    return entry.isPresent() ? problem.inEntry(entry.getAsInt()) : problem;
  }
}
