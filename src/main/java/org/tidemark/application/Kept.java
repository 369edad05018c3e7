package org.tidemark.application;

import java.time.Instant;
import java.util.function.Supplier;
import org.hl7.fhir.r4.model.Resource;

/**
 * A version of a record as it is stored.
 *
 * @param version its number, 1 or more
 * @param written when it was written
 * @param json its text
 * @param parsed the text as a resource
 */
public record Kept(long version, Instant written, String json, Supplier<Resource> parsed) {}
