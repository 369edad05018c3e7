package org.tidemark.application;

import org.hl7.fhir.r4.model.Resource;

/**
 * The result of a write.
 *
 * @param resource the current version once all consequences are drawn
 * @param created whether the write made a new record
 */
public record Written(Resource resource, boolean created) {}
