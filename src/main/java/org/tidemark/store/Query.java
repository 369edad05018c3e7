package org.tidemark.store;

import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.Set;

/**
 * A search over the current versions of one type. All criteria must hold.
 *
 * @param type the type
 * @param subjects normalised references of the people it may be about; empty for anyone
 * @param criteria further criteria
 * @param sort what the result is ordered by, the most important first; records that tie come in the
 *     order of their ids
 * @param after the last record of the page before, when there was one
 * @param limit the most records to return, 1 or more
 */
public record Query(
    String type,
    Set<String> subjects,
    List<Criterion> criteria,
    List<Sort> sort,
    Optional<Cursor> after,
    int limit) {

  /** Lets every order end with the id, so that no two records have the same place. */
  public Query {
    List<Sort> unique = new ArrayList<>();
    for (Sort key : sort) {
      unique.add(key);
      if (key.order() == Order.ID) {
        break;
      }
    }
    if (unique.isEmpty() || unique.get(unique.size() - 1).order() != Order.ID) {
      unique.add(Sort.BY_ID);
    }
    sort = List.copyOf(unique);
  }

  /**
   * A search in the order of the ids, from the beginning.
   *
   * @param type the type
   * @param criteria what must hold
   * @param most the most records to return
   * @return the search
   */
  public static Query byId(String type, List<Criterion> criteria, int most) {
    return new Query(type, Set.of(), criteria, List.of(Sort.BY_ID), Optional.empty(), most);
  }

  /** The same search for at most so many records. */
  public Query limitedTo(int most) {
    return new Query(type, subjects, criteria, sort, after, most);
  }

  /** The same search for what meets another criterion besides. */
  public Query and(Criterion criterion) {
    List<Criterion> all = new ArrayList<>(criteria);
    all.add(criterion);
    return new Query(type, subjects, all, sort, after, limit);
  }

  /** The same search for what is about this person. */
  public Query about(String subject) {
    Query narrowed = new Query(type, Set.of(subject), criteria, sort, after, limit);
    return subjects.isEmpty() || subjects.contains(subject)
        ? narrowed
        : narrowed.and(new Ids(Set.of("")));
  }

  /** The same search from a place on. */
  public Query from(Cursor place) {
    return new Query(type, subjects, criteria, sort, Optional.of(place), limit);
  }

  /** The order of a search that asks for none. */
  public static final List<Sort> NEWEST_FIRST = List.of(Sort.by(Order.HAPPENED, true), Sort.BY_ID);

  /** The same search for all records, upwards by its first key alone. */
  public Query all() {
    List<Sort> upwards = List.of(new Sort(sort.get(0).order(), sort.get(0).parameter(), false));
    return new Query(type, subjects, criteria, upwards, Optional.empty(), Integer.MAX_VALUE);
  }

  /** What a result is ordered by. */
  public enum Order {
    /** When it happened: the record's own date, or its last update when it has none. */
    HAPPENED,
    /** When it was last written. */
    UPDATED,
    /** Its id. */
    ID,
    /** A time, upwards the earliest and downwards the latest of the record; none is the least. */
    DATE,
    /** A code, upwards the least and downwards the greatest of the record; none is the least. */
    CODE
  }

  /**
   * One key of an order.
   *
   * @param order what it is
   * @param parameter the search parameter of a {@link Order#DATE} or {@link Order#CODE}, else empty
   * @param down whether it runs down: the latest, or the greatest, first
   */
  public record Sort(Order order, String parameter, boolean down) {
    /** Upwards by id. */
    public static final Sort BY_ID = new Sort(Order.ID, "", false);

    /** A key that needs no search parameter. */
    public static Sort by(Order order, boolean down) {
      return new Sort(order, "", down);
    }

    /** Whether the key is a text; else it is in milliseconds since 1970 UTC. */
    public boolean isText() {
      return order == Order.ID || order == Order.CODE;
    }
  }

  /**
   * A place in an ordered result.
   *
   * @param keys the values of {@link Query#sort}, each a String or a Long; the last is the id
   */
  public record Cursor(List<Object> keys) {
    /** Copies the keys. */
    public Cursor {
      keys = List.copyOf(keys);
    }
  }

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
   * A quantity.
   *
   * @param parameter the search parameter
   * @param any what is accepted
   */
  public record Measures(String parameter, List<MeasureTest> any) implements Criterion {}

  /**
   * One accepted span of amounts.
   *
   * @param column which unit and number are compared
   * @param unit the unit it must have, or none for any unit
   * @param low the least amount
   * @param high the greatest amount
   * @param lowIncluded whether the least amount itself is accepted
   * @param highIncluded whether the greatest amount itself is accepted
   * @param inside whether the amounts inside the span are accepted, else those outside
   */
  public record MeasureTest(
      Measured column,
      Optional<String> unit,
      double low,
      double high,
      boolean lowIncluded,
      boolean highIncluded,
      boolean inside) {}

  /** The forms in which a quantity is kept. */
  public enum Measured {
    /** In a unit that others are brought to as well. */
    COMPARED,
    /** As it was sent. */
    SENT
  }

  /**
   * When the record was last written.
   *
   * @param any what is accepted
   */
  public record Updated(List<DateTest> any) implements Criterion {}

  /**
   * That a criterion does not hold.
   *
   * @param criterion the criterion
   */
  public record Not(Criterion criterion) implements Criterion {}

  /**
   * That all criteria of one of these lists hold.
   *
   * @param any the lists, none of them empty
   */
  public record Either(List<List<Criterion>> any) implements Criterion {}

  /**
   * That the record has a value of a parameter.
   *
   * @param values where the parameter's values are kept
   * @param parameter the search parameter
   */
  public record Present(Values values, String parameter) implements Criterion {}

  /** That the record says whom it is about. */
  public record HasSubject() implements Criterion {}

  /**
   * Whom the record is about.
   *
   * @param any normalised references
   */
  public record About(Set<String> any) implements Criterion {}

  /**
   * That a reference of the record leads to a record about a person.
   *
   * @param parameter the search parameter of the reference
   * @param types the types that the other record may have
   * @param subject the normalised reference to the person
   */
  public record LeadsTo(String parameter, List<String> types, String subject)
      implements Criterion {}

  /**
   * That the record is about one of those whom an export is about.
   *
   * @param exportId the id of the export
   */
  public record AboutMembers(String exportId) implements Criterion {}

  /**
   * That a reference of the record leads to a record about one of those whom an export is about.
   *
   * @param parameter the search parameter of the reference
   * @param exportId the id of the export
   */
  public record LeadsToMembers(String parameter, String exportId) implements Criterion {}

  /** Where the values of a search parameter are kept. */
  public enum Values {
    /** Codes. */
    TOKENS,
    /** References, canonicals and URIs. */
    URIS,
    /** Times. */
    DATES,
    /** Quantities. */
    QUANTITIES
  }

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
