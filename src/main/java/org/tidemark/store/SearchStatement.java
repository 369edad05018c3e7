package org.tidemark.store;

import java.time.Instant;
import java.util.ArrayList;
import java.util.Collection;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.stream.Collectors;
import org.hibernate.StatelessSession;
import org.hibernate.query.NativeQuery;

/**
 * A query as a statement of SQL, with its values apart. SQL and not Hibernate's language, which
 * takes most of a second of a start to learn to read.
 *
 * <p>When the person is known, the criteria are tested record by record along that person's index
 * ({@code exists}); otherwise they find the ids ({@code in}), so that a code across all people does
 * not walk through the whole type.
 */
final class SearchStatement {
  private static final String COLUMNS =
      "select c.resource_type, c.resource_id, c.version, c.subject, c.json, c.updated_ms";

  /** Where the keys of the order begin in a row of {@link #page}. */
  static final int KEYS_AT = 6;

  /** Selects the columns of {@link #stored}, to be completed by a condition. */
  static final String SELECT = COLUMNS + " from resource_current c ";

  /** The key of a record that has no such time: before the year 1, in milliseconds since 1970. */
  private static final String NO_TIME = "-99999999999999";

  private static final String NO_CODE = "''";
  private static final String LIMIT = " fetch first :limit rows only";

  /**
   * Keeps PostgreSQL from turning the test of each record into a join, for which it would read what
   * everyone has of a code when it thinks that this is little.
   */
  private static final String FENCE = " offset 0 rows";

  private final StringBuilder where =
      new StringBuilder("where c.clinic = :clinic and c.resource_type = :type");
  private final Map<String, Object> values = new LinkedHashMap<>();
  private final Map<String, Object> place = new LinkedHashMap<>();
  private final List<Query.Sort> sort;
  private final List<String> keys;
  private final boolean personKnown;
  private final boolean onePerson;

  private SearchStatement(Query query, String clinic) {
    this.sort = query.sort();
    this.keys = sort.stream().map(this::key).toList();
    this.personKnown = !query.subjects().isEmpty();
    this.onePerson = query.subjects().size() == 1;
    values.put("clinic", clinic);
    values.put("type", query.type());
  }

  static SearchStatement of(Query query, String clinic) {
    SearchStatement statement = new SearchStatement(query, clinic);
    if (statement.personKnown) {
      statement.where.append(" and c.subject in ").append(statement.value(query.subjects()));
    }
    query
        .criteria()
        .forEach(criterion -> statement.where.append(" and ").append(statement.test(criterion)));
    return statement;
  }

  /** A query whose rows {@link #stored} reads. */
  static NativeQuery<Object[]> query(StatelessSession session, String sql) {
    return session
        .createNativeQuery(sql, Object[].class)
        .addScalar("resource_type", String.class)
        .addScalar("resource_id", String.class)
        .addScalar("version", Long.class)
        .addScalar("subject", String.class)
        .addScalar("json", String.class)
        .addScalar("updated_ms", Long.class);
  }

  /** The version in the first columns of a row. */
  static Stored stored(Object[] row) {
    return new Stored(
        (String) row[0],
        (String) row[1],
        (Long) row[2],
        (String) row[3],
        (String) row[4],
        Instant.ofEpochMilli((Long) row[5]));
  }

  /** The records of a page, with the keys of the order after the columns of {@link #stored}. */
  List<Object[]> page(StatelessSession session, Query query) {
    String after = query.after().map(this::beyond).orElse("");
    StringBuilder selected = new StringBuilder();
    List<String> order = new ArrayList<>();
    for (int i = 0; i < keys.size(); i++) {
      selected.append(", ").append(keys.get(i)).append(" as key").append(i);
      order.add(keys.get(i) + (sort.get(i).down() ? " desc" : ""));
    }
    String rows = " from resource_current c " + where + after;
    NativeQuery<Object[]> page =
        query(
            session,
            isOrderOfIndex()
                ? COLUMNS
                    + selected
                    + rows
                    + " order by c.clinic, c.resource_type, c.subject, "
                    + String.join(", ", order)
                    + LIMIT
                : pageOfIds("select c.clinic, c.resource_type, c.resource_id" + selected + rows));
    for (int i = 0; i < keys.size(); i++) {
      page.addScalar("key" + i, sort.get(i).isText() ? String.class : Long.class);
    }
    values.forEach((name, value) -> bind(page, name, value));
    place.forEach((name, value) -> bind(page, name, value));
    return page.setParameter("limit", query.limit()).list();
  }

  /** The first columns of that index are all alike; named in the order, they let it be used. */
  private boolean isOrderOfIndex() {
    return onePerson && sort.equals(Query.NEWEST_FIRST);
  }

  /** Sorts ids first, so that the texts are fetched of the page alone. */
  private String pageOfIds(String ids) {
    StringBuilder selected = new StringBuilder();
    List<String> order = new ArrayList<>();
    List<String> inner = new ArrayList<>();
    for (int i = 0; i < keys.size(); i++) {
      String down = sort.get(i).down() ? " desc" : "";
      selected.append(", f.key").append(i).append(" as key").append(i);
      order.add("f.key" + i + down);
      inner.add("key" + i + down);
    }
    return COLUMNS
        + selected
        + " from ("
        + ids
        + " order by "
        + String.join(", ", inner)
        + LIMIT
        + ") f join resource_current c on c.clinic = f.clinic"
        + " and c.resource_type = f.resource_type and c.resource_id = f.resource_id order by "
        + String.join(", ", order);
  }

  /** How many records match, on whatever page. */
  long count(StatelessSession session) {
    NativeQuery<Long> count =
        session
            .createNativeQuery(
                "select count(*) as found from resource_current c " + where, Long.class)
            .addScalar("found", Long.class);
    values.forEach((name, value) -> bind(count, name, value));
    return count.uniqueResult();
  }

  /**
   * What comes after a place: the first key lies beyond it, or is the same and the next lies beyond
   * it, and so on. The first condition is implied by the others; it lets an index begin there.
   */
  private String beyond(Query.Cursor cursor) {
    List<String> ways = new ArrayList<>();
    StringBuilder same = new StringBuilder();
    for (int i = 0; i < keys.size(); i++) {
      place.put("after" + i, cursor.keys().get(i));
      String beyond = sort.get(i).down() ? " < :after" : " > :after";
      ways.add(same + keys.get(i) + beyond + i);
      same.append(keys.get(i)).append(" = :after").append(i).append(" and ");
    }
    return " and %s %s :after0 and %s"
        .formatted(keys.get(0), sort.get(0).down() ? "<=" : ">=", anyOf(ways));
  }

  /** The expression of a key. Its parameter is one that we declare, so that it needs no escape. */
  private String key(Query.Sort key) {
    return switch (key.order()) {
      case HAPPENED -> "c.happened_ms";
      case UPDATED -> "c.updated_ms";
      case ID -> "c.resource_id";
      case DATE ->
          ofRows("search_date", key.down() ? "max(k.high_ms)" : "min(k.low_ms)", key, NO_TIME);
      case CODE -> ofRows("search_token", key.down() ? "max(k.code)" : "min(k.code)", key, NO_CODE);
    };
  }

  private String ofRows(String table, String which, Query.Sort key, String none) {
    return ("coalesce((select %s from %s k where k.clinic = c.clinic and k.resource_type ="
            + " c.resource_type and k.resource_id = c.resource_id and k.parameter = '%s'), %s)")
        .formatted(which, table, key.parameter(), none);
  }

  private static void bind(NativeQuery<?> to, String name, Object value) {
    if (value instanceof Collection<?> any) {
      to.setParameterList(name, any);
    } else {
      to.setParameter(name, value);
    }
  }

  private String test(Query.Criterion criterion) {
    if (criterion instanceof Query.Ids ids) {
      return "c.resource_id in " + value(ids.any());
    }
    if (criterion instanceof Query.Updated updated) {
      return anyOf(
          updated.any().stream().map(t -> compare(t, "c.updated_ms", "c.updated_ms + 1")).toList());
    }
    if (criterion instanceof Query.Tokens tokens) {
      return row(
          "search_token",
          tokens.parameter(),
          anyOf(tokens.any().stream().map(this::token).toList()));
    }
    if (criterion instanceof Query.Uris uris) {
      return row("search_uri", uris.parameter(), "x.target in " + value(uris.any()));
    }
    if (criterion instanceof Query.Dates dates) {
      return row(
          "search_date",
          dates.parameter(),
          anyOf(dates.any().stream().map(t -> compare(t, "x.low_ms", "x.high_ms")).toList()));
    }
    if (criterion instanceof Query.Measures measures) {
      return row(
          "search_quantity",
          measures.parameter(),
          anyOf(measures.any().stream().map(this::measure).toList()));
    }
    if (criterion instanceof Query.Not not) {
      return "not (" + test(not.criterion()) + ")";
    }
    if (criterion instanceof Query.Either either) {
      return anyOf(
          either.any().stream()
              .map(all -> all.stream().map(this::test).collect(Collectors.joining(" and ")))
              .toList());
    }
    if (criterion instanceof Query.Present present) {
      return row(table(present.values()), present.parameter(), "1 = 1");
    }
    if (criterion instanceof Query.HasSubject) {
      return "c.subject is not null";
    }
    if (criterion instanceof Query.About about) {
      return "c.subject in " + value(about.any());
    }
    if (criterion instanceof Query.LeadsTo leads) {
      return row("search_uri", leads.parameter(), "x.target in (" + targets(leads) + ")");
    }
    if (criterion instanceof Query.AboutMembers about) {
      return member("c", about.exportId());
    }
    if (criterion instanceof Query.LeadsToMembers leads) {
      return each("search_uri", leads.parameter(), targetOf(leads));
    }
    throw new IllegalArgumentException("unknown criterion " + criterion.getClass());
  }

  private String member(String row, String exportId) {
    return "exists (select 1 from export_member m where m.clinic = :clinic and m.job_id = "
        + value(exportId)
        + " and m.subject = "
        + row
        + ".subject)";
  }

  /** The record that a reference names is looked up by its key. */
  private String targetOf(Query.LeadsToMembers leads) {
    String slash = "position('/' in x.target)";
    return "exists (select 1 from resource_current o where o.clinic = :clinic"
        + " and o.resource_type = substring(x.target from 1 for greatest(%s - 1, 0))"
            .formatted(slash)
        + " and o.resource_id = substring(x.target from %s + 1) and ".formatted(slash)
        + member("o", leads.exportId())
        + ")";
  }

  private String targets(Query.LeadsTo leads) {
    return "select o.resource_type || '/' || o.resource_id from resource_current o"
        + " where o.clinic = :clinic and o.resource_type in "
        + value(leads.types())
        + " and o.subject = "
        + value(leads.subject());
  }

  private static String table(Query.Values values) {
    return switch (values) {
      case TOKENS -> "search_token";
      case URIS -> "search_uri";
      case DATES -> "search_date";
      case QUANTITIES -> "search_quantity";
    };
  }

  private String row(String table, String parameter, String condition) {
    return personKnown
        ? each(table, parameter, condition)
        : "c.resource_id in (select x.resource_id" + of(table, parameter, condition) + ")";
  }

  /** Tests record by record. */
  private String each(String table, String parameter, String condition) {
    return "exists (select 1"
        + of(table, parameter, condition)
        + " and x.resource_id = c.resource_id"
        + FENCE
        + ")";
  }

  private String of(String table, String parameter, String condition) {
    return " from "
        + table
        + " x where x.clinic = :clinic and x.resource_type = :type and x.parameter = "
        + value(parameter)
        + " and "
        + condition;
  }

  private String token(Query.TokenTest test) {
    List<String> parts = new ArrayList<>();
    test.code().ifPresent(code -> parts.add("x.code = " + value(code)));
    test.system().ifPresent(system -> parts.add("x.code_system = " + value(system)));
    return String.join(" and ", parts);
  }

  private String measure(Query.MeasureTest test) {
    boolean sent = test.column() == Query.Measured.SENT;
    String amount = sent ? "x.sent_amount" : "x.amount";
    List<String> within = new ArrayList<>();
    if (test.low() > Double.NEGATIVE_INFINITY) {
      within.add(amount + (test.lowIncluded() ? " >= " : " > ") + value(test.low()));
    }
    if (test.high() < Double.POSITIVE_INFINITY) {
      within.add(amount + (test.highIncluded() ? " <= " : " < ") + value(test.high()));
    }
    String span = String.join(" and ", within);
    String amounts = test.inside() ? span : "not (" + span + ")";
    return test.unit()
        .map(unit -> (sent ? "x.sent_unit" : "x.unit") + " = " + value(unit) + " and " + amounts)
        .orElse(amounts);
  }

  private String compare(Query.DateTest test, String low, String high) {
    return switch (test.comparison()) {
      case WITHIN -> within(test, low, high);
      case NOT_WITHIN -> "not " + within(test, low, high);
      case ENDS_AFTER -> high + " > " + value(test.highMs());
      case BEGINS_BEFORE -> low + " < " + value(test.lowMs());
      case WITHIN_OR_ENDS_AFTER ->
          within(test, low, high) + " or " + high + " > " + value(test.highMs());
      case WITHIN_OR_BEGINS_BEFORE ->
          within(test, low, high) + " or " + low + " < " + value(test.lowMs());
      case BEGINS_AFTER -> low + " >= " + value(test.highMs());
      case ENDS_BEFORE -> high + " <= " + value(test.lowMs());
      case OVERLAPS ->
          low + " < " + value(test.highMs()) + " and " + high + " > " + value(test.lowMs());
    };
  }

  private String within(Query.DateTest test, String low, String high) {
    return "(%s >= %s and %s <= %s)"
        .formatted(low, value(test.lowMs()), high, value(test.highMs()));
  }

  private static String anyOf(List<String> tests) {
    return "((" + String.join(") or (", tests) + "))";
  }

  private String value(Object value) {
    String name = "p" + values.size();
    values.put(name, value);
    return ":" + name;
  }
}
