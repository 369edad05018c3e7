package org.tidemark.store;

import java.time.Instant;
import java.util.ArrayList;
import java.util.Collection;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Set;
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
  private static final String FROM =
      " from resource_current c join resource_version v on v.clinic = c.clinic"
          + " and v.resource_type = c.resource_type and v.resource_id = c.resource_id"
          + " and v.version = c.version ";

  /** Selects the columns of {@link #stored}, to be completed by a condition. */
  static final String SELECT =
      "select v.resource_type, v.resource_id, v.version, v.subject, v.json, v.last_updated" + FROM;

  private static final String SELECT_FOUND =
      "select v.resource_type, v.resource_id, v.version, v.subject, v.json, v.last_updated,"
          + " c.happened_ms, c.updated_ms"
          + FROM;

  /** The values that say where a page begins. */
  private static final Set<String> PLACE = Set.of("afterKey", "afterId");

  private final StringBuilder where =
      new StringBuilder("where c.clinic = :clinic and c.resource_type = :type");
  private final Map<String, Object> values = new LinkedHashMap<>();
  private final boolean personKnown;

  private SearchStatement(Query query, String clinic) {
    this.personKnown = !query.subjects().isEmpty();
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
    query
        .after()
        .ifPresent(
            place -> {
              statement.values.put("afterId", place.id());
              if (query.order() != Query.Order.ID) {
                statement.values.put("afterKey", place.key());
              }
            });
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
        .addScalar("last_updated", Instant.class);
  }

  /** The version in the first columns of a row. */
  static Stored stored(Object[] row) {
    return new Stored(
        (String) row[0],
        (String) row[1],
        (Long) row[2],
        (String) row[3],
        (String) row[4],
        (Instant) row[5]);
  }

  /** Gives a query all values. */
  void bind(NativeQuery<?> to) {
    values.forEach((name, value) -> bind(to, name, value));
  }

  /** Gives a query all values but those that say where a page begins. */
  void bindAllButPlace(NativeQuery<?> to) {
    values.forEach(
        (name, value) -> {
          if (!PLACE.contains(name)) {
            bind(to, name, value);
          }
        });
  }

  private static void bind(NativeQuery<?> to, String name, Object value) {
    if (value instanceof Collection<?> any) {
      to.setParameterList(name, any);
    } else {
      to.setParameter(name, value);
    }
  }

  String count() {
    return "select count(*) as found from resource_current c " + where;
  }

  String page(Query query) {
    String down = query.newestFirst() ? " desc" : "";
    String beyond = query.newestFirst() ? "<" : ">";
    boolean continued = query.after().isPresent();
    return switch (query.order()) {
      case ID ->
          SELECT_FOUND
              + where
              + (continued ? " and c.resource_id " + beyond + " :afterId" : "")
              + " order by c.resource_id"
              + down;
      case HAPPENED -> byTime("c.happened_ms", beyond, down, continued);
      case UPDATED -> byTime("c.updated_ms", beyond, down, continued);
    };
  }

  private String byTime(String key, String beyond, String down, boolean continued) {
    String place =
        " and (%1$s %2$s :afterKey or (%1$s = :afterKey and c.resource_id > :afterId))"
            .formatted(key, beyond);
    return SELECT_FOUND
        + where
        + (continued ? place : "")
        + " order by "
        + key
        + down
        + ", c.resource_id";
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
    throw new IllegalArgumentException("unknown criterion " + criterion.getClass());
  }

  private String row(String table, String parameter, String condition) {
    String of =
        " from "
            + table
            + " x where x.clinic = :clinic and x.resource_type = :type and x.parameter = "
            + value(parameter)
            + " and "
            + condition;
    return personKnown
        ? "exists (select 1" + of + " and x.resource_id = c.resource_id)"
        : "c.resource_id in (select x.resource_id" + of + ")";
  }

  private String token(Query.TokenTest test) {
    List<String> parts = new ArrayList<>();
    test.code().ifPresent(code -> parts.add("x.code = " + value(code)));
    test.system().ifPresent(system -> parts.add("x.code_system = " + value(system)));
    return String.join(" and ", parts);
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
