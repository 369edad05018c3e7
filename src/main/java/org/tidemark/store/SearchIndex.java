package org.tidemark.store;

import java.util.LinkedHashSet;
import java.util.List;
import java.util.Set;
import java.util.function.Function;
import org.hibernate.StatelessSession;
import org.tidemark.store.SearchValues.Measure;
import org.tidemark.store.SearchValues.Span;
import org.tidemark.store.SearchValues.Token;
import org.tidemark.store.SearchValues.Uri;

/**
 * The rows that one record is found by. A new version writes only those that differ: the versions
 * of a plan are nearly always found by the same, and each row costs three trees.
 *
 * @param session the session of the caller's transaction
 * @param clinic whose record it is
 * @param type its type
 * @param id its id
 */
record SearchIndex(StatelessSession session, String clinic, String type, String id) {
  private static final String OF_THE_RECORD =
      " where clinic = :clinic and resource_type = :type and resource_id = :id";

  /** The rows of a record, for each table a list. */
  List<List<Object>> rows(SearchValues values) {
    return List.of(
        values.tokens().stream().map(this::row).toList(),
        values.uris().stream().map(this::row).toList(),
        values.dates().stream().map(this::row).toList(),
        values.measures().stream().map(this::row).toList());
  }

  /** Replaces the rows of the version before. */
  void replace(SearchValues values) {
    replace(tokens(), values.tokens(), this::row);
    replace(uris(), values.uris(), this::row);
    replace(spans(), values.dates(), this::row);
    replace(measures(), values.measures(), this::row);
  }

  /**
   * The rows as they are kept.
   *
   * @param happenedMs the time that the record is ordered by
   */
  SearchValues values(long happenedMs) {
    return new SearchValues(tokens(), uris(), spans(), measures(), happenedMs);
  }

  /** Takes all rows away. */
  void drop() {
    for (String table : List.of("search_token", "search_uri", "search_date", "search_quantity")) {
      session
          .createNativeMutationQuery("delete from " + table + OF_THE_RECORD)
          .setParameter("clinic", clinic)
          .setParameter("type", type)
          .setParameter("id", id)
          .executeUpdate();
    }
  }

  private <V> void replace(Set<V> before, Set<V> now, Function<V, Object> row) {
    if (!before.equals(now)) {
      before.stream().filter(value -> !now.contains(value)).map(row).forEach(session::delete);
      now.stream().filter(value -> !before.contains(value)).map(row).forEach(session::insert);
    }
  }

  private Object row(Token token) {
    return new TokenRow(clinic, type, id, token.parameter(), token.system(), token.code());
  }

  private Object row(Uri uri) {
    return new UriRow(clinic, type, id, uri.parameter(), uri.target());
  }

  private Object row(Span span) {
    return new DateRow(clinic, type, id, span.parameter(), span.lowMs(), span.highMs());
  }

  private Object row(Measure measure) {
    return new QuantityRow(clinic, type, id, measure);
  }

  private Set<Token> tokens() {
    return rows(
        "search_token",
        List.of("parameter", "code_system", "code"),
        List.of(String.class, String.class, String.class),
        row -> new Token((String) row[0], (String) row[1], (String) row[2]));
  }

  private Set<Uri> uris() {
    return rows(
        "search_uri",
        List.of("parameter", "target"),
        List.of(String.class, String.class),
        row -> new Uri((String) row[0], (String) row[1]));
  }

  private Set<Span> spans() {
    return rows(
        "search_date",
        List.of("parameter", "low_ms", "high_ms"),
        List.of(String.class, Long.class, Long.class),
        row -> new Span((String) row[0], (Long) row[1], (Long) row[2]));
  }

  private Set<Measure> measures() {
    return rows(
        "search_quantity",
        List.of("parameter", "unit", "amount", "sent_unit", "sent_amount"),
        List.of(String.class, String.class, Double.class, String.class, Double.class),
        row ->
            new Measure(
                (String) row[0],
                (String) row[1],
                (Double) row[2],
                (String) row[3],
                (Double) row[4]));
  }

  private <V> Set<V> rows(
      String table, List<String> columns, List<Class<?>> kinds, Function<Object[], V> value) {
    var query =
        session.createNativeQuery(
            "select " + String.join(", ", columns) + " from " + table + OF_THE_RECORD,
            Object[].class);
    for (int i = 0; i < columns.size(); i++) {
      query.addScalar(columns.get(i), kinds.get(i));
    }
    Set<V> values = new LinkedHashSet<>();
    query
        .setParameter("clinic", clinic)
        .setParameter("type", type)
        .setParameter("id", id)
        .list()
        .forEach(row -> values.add(value.apply(row)));
    return values;
  }
}
