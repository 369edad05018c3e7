package org.tidemark.store;

import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Set;

/**
 * A query as a statement of Hibernate's language, with its values apart.
 *
 * <p>When the person is known, the criteria are tested record by record along that person's index
 * ({@code exists}); otherwise they find the ids ({@code in}), so that a code across all people does
 * not walk through the whole type.
 */
final class SearchStatement {
  private static final String FROM =
      "from CurrentRow c join VersionRow v on v.clinic = c.clinic and v.type = c.type"
          + " and v.id = c.id and v.version = c.version ";

  /** Selects one version, to be completed by a condition. */
  static final String SELECT =
      "select new org.tidemark.store.Stored("
          + "v.type, v.id, v.version, v.subject, v.json, v.lastUpdated) "
          + FROM;

  private static final String SELECT_FOUND =
      "select new org.tidemark.store.ResourceStore$Found("
          + "v.type, v.id, v.version, v.subject, v.json, v.lastUpdated, c.happenedMs, c.updatedMs) "
          + FROM;

  /** The values that say where a page begins. */
  static final Set<String> PLACE = Set.of("afterKey", "afterId");

  private final StringBuilder where =
      new StringBuilder("where c.clinic = :clinic and c.type = :type");
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

  Map<String, Object> values() {
    return values;
  }

  String count() {
    return "select count(*) from CurrentRow c " + where;
  }

  String page(Query query) {
    String down = query.newestFirst() ? " desc" : "";
    String beyond = query.newestFirst() ? "<" : ">";
    boolean continued = query.after().isPresent();
    return switch (query.order()) {
      case ID ->
          SELECT_FOUND
              + where
              + (continued ? " and c.id " + beyond + " :afterId" : "")
              + " order by c.id"
              + down;
      case HAPPENED -> byTime("c.happenedMs", beyond, down, continued);
      case UPDATED -> byTime("c.updatedMs", beyond, down, continued);
    };
  }

  private String byTime(String key, String beyond, String down, boolean continued) {
    String place =
        " and (%1$s %2$s :afterKey or (%1$s = :afterKey and c.id > :afterId))"
            .formatted(key, beyond);
    return SELECT_FOUND + where + (continued ? place : "") + " order by " + key + down + ", c.id";
  }

  private String test(Query.Criterion criterion) {
    if (criterion instanceof Query.Ids ids) {
      return "c.id in " + value(ids.any());
    }
    if (criterion instanceof Query.Updated updated) {
      return anyOf(
          updated.any().stream().map(t -> compare(t, "c.updatedMs", "c.updatedMs + 1")).toList());
    }
    if (criterion instanceof Query.Tokens tokens) {
      return row(
          "TokenRow", tokens.parameter(), anyOf(tokens.any().stream().map(this::token).toList()));
    }
    if (criterion instanceof Query.Uris uris) {
      return row("UriRow", uris.parameter(), "x.target in " + value(uris.any()));
    }
    if (criterion instanceof Query.Dates dates) {
      return row(
          "DateRow",
          dates.parameter(),
          anyOf(dates.any().stream().map(t -> compare(t, "x.lowMs", "x.highMs")).toList()));
    }
    throw new IllegalArgumentException("unknown criterion " + criterion.getClass());
  }

  private String row(String entity, String parameter, String condition) {
    String of =
        " from "
            + entity
            + " x where x.clinic = :clinic and x.type = :type and x.parameter = "
            + value(parameter)
            + " and "
            + condition;
    return personKnown
        ? "exists (select 1" + of + " and x.id = c.id)"
        : "c.id in (select x.id" + of + ")";
  }

  private String token(Query.TokenTest test) {
    List<String> parts = new ArrayList<>();
    test.code().ifPresent(code -> parts.add("x.code = " + value(code)));
    test.system().ifPresent(system -> parts.add("x.system = " + value(system)));
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
