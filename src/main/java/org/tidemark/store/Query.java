package org.tidemark.store;

import java.util.List;
import java.util.Optional;
import java.util.Set;

/**
 * A search over the current versions of one type. All criteria must hold.
 *
 * @param type the type
 * @param subjects normalised references of the people it may be about; empty for anyone
 * @param criteria further criteria
 * @param order what the result is ordered by; records that tie come in the order of their ids
 * @param newestFirst whether the order runs down
 * @param after the last record of the page before, when there was one
 * @param limit the most records to return, 1 or more
 */
public record Query(
    String type,
    Set<String> subjects,
    List<Criterion> criteria,
    Order order,
    boolean newestFirst,
    Optional<Cursor> after,
    int limit) {

  /** The same search for at most so many records. */
  public Query limitedTo(int most) {
    return new Query(type, subjects, criteria, order, newestFirst, after, most);
  }

  /** What a result is ordered by. */
  public enum Order {
    /** When it happened: the record's own date, or its last update when it has none. */
    HAPPENED,
    /** When it was last written. */
    UPDATED,
    /** Its id. */
    ID
  }

  /**
   * A place in an ordered result.
   *
   * @param key the value that the result is ordered by, in milliseconds; 0 when ordered by id
   * @param id the record's id
   */
  public record Cursor(long key, String id) {}

  /** One condition on a record. */
  public sealed interface Criterion {}

  /**
   * One of these ids.
   *
   * @param any the ids
   */
  public record Ids(Set<String> any) implements Criterion {}

  /**
   * A coded value.
   *
   * @param parameter the search parameter
   * @param any what is accepted
   */
  public record Tokens(String parameter, List<TokenTest> any) implements Criterion {}

  /**
   * One accepted code.
   *
   * @param system the system it must have, or none for any system
   * @param code the code it must be, or none for any code of the system
   */
  public record TokenTest(Optional<String> system, Optional<String> code) {}

  /**
   * A reference, canonical or URI.
   *
   * @param parameter the search parameter
   * @param any the normalised values that are accepted
   */
  public record Uris(String parameter, Set<String> any) implements Criterion {}

  /**
   * A time.
   *
   * @param parameter the search parameter
   * @param any what is accepted
   */
  public record Dates(String parameter, List<DateTest> any) implements Criterion {}

  /**
   * When the record was last written.
   *
   * @param any what is accepted
   */
  public record Updated(List<DateTest> any) implements Criterion {}

  /**
   * One comparison with a span of time.
   *
   * @param comparison how
   * @param lowMs the span's first millisecond since 1970 UTC
   * @param highMs the first millisecond after it
   */
  public record DateTest(Comparison comparison, long lowMs, long highMs) {}

  /** How a record's time compares with the time asked for. */
  public enum Comparison {
    /** Lies wholly within it. */
    WITHIN,
    /** Does not lie wholly within it. */
    NOT_WITHIN,
    /** Reaches beyond its end. */
    ENDS_AFTER,
    /** Begins before it. */
    BEGINS_BEFORE,
    /** Lies within it or reaches beyond its end. */
    WITHIN_OR_ENDS_AFTER,
    /** Lies within it or begins before it. */
    WITHIN_OR_BEGINS_BEFORE,
    /** Begins after its end. */
    BEGINS_AFTER,
    /** Ends before it begins. */
    ENDS_BEFORE,
    /** Has a moment in common with it. */
    OVERLAPS
  }
}
