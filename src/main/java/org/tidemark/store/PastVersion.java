package org.tidemark.store;

/**
 * A version in the history of a record.
 *
 * @param stored the version; without text where it is the deletion
 * @param deleted whether the record was deleted then
 */
public record PastVersion(Stored stored, boolean deleted) {}
