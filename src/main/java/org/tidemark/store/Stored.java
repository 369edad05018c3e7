package org.tidemark.store;

import java.time.Instant;

/**
 * One version of one record, as it is kept.
 *
 * @param type the record's type, such as {@code Observation}
 * @param id its id, 1 to 64 characters
 * @param version its version, 1 or more
 * @param subject the normalised reference to the person it is about, or null
 * @param json its complete text
 * @param lastUpdated when this version was written
 */
public record Stored(
    String type, String id, long version, String subject, String json, Instant lastUpdated) {}
