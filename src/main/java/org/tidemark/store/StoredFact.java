package org.tidemark.store;

/**
 * One thing that a record says about a plan, as it is kept.
 *
 * @param sourceType the type of the record
 * @param sourceId its id
 * @param ordinal which of the things it says, from 0
 * @param sourceVersion the version it was read from
 * @param happenedMs when it was so, in milliseconds since 1970 UTC
 * @param arrivedMs when it was taken in, likewise
 * @param content what it says, without where it was read, as JSON text
 */
public record StoredFact(
    String sourceType,
    String sourceId,
    int ordinal,
    long sourceVersion,
    long happenedMs,
    long arrivedMs,
    String content) {}
