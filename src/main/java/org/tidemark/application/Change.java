package org.tidemark.application;

import java.util.Optional;
import org.hl7.fhir.r4.model.Resource;

/**
 * A record that was written.
 *
 * @param resource what was written, with its id and {@code meta.versionId}
 * @param former the version before, empty when the record is new
 * @param byEngine whether the service wrote it by itself rather than a client
 */
public record Change(Resource resource, Optional<Resource> former, boolean byEngine) {}
