package org.tidemark.store;

import java.time.Instant;
import java.util.List;
import java.util.Optional;

/**
 * Asks for versions, the newest first.
 *
 * @param type only of this type
 * @param id only of this record; needs a type
 * @param since only those written then or later
 * @param at only those that stood at some moment of this time
 * @param parts only those that are in one of these parts; all when there are none
 * @param after the last version of the page before
 * @param limit the most versions to return, 1 or more
 */
public record HistoryQuery(
    Optional<String> type,
    Optional<String> id,
    Optional<Instant> since,
    Optional<Span> at,
    List<Part> parts,
    Optional<Place> after,
    int limit) {

  /**
   * A part of all versions.
   *
   * @param type of this type
   * @param subject about this person
   * @param nobody about nobody
   */
  public record Part(String type, Optional<String> subject, boolean nobody) {}

  /**
   * A span of time.
   *
   * @param from its first moment
   * @param to the first moment after it
   */
  public record Span(Instant from, Instant to) {}

  /**
   * A place in a history.
   *
   * @param written when the version was written
   * @param type its type
   * @param id its id
   * @param version its number
   */
  public record Place(Instant written, String type, String id, long version) {}
}
