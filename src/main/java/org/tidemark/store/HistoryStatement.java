package org.tidemark.store;

import java.time.Instant;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import org.hibernate.StatelessSession;
import org.hibernate.query.NativeQuery;

/** The SQL of a {@link HistoryQuery}. */
final class HistoryStatement {
  private static final String COLUMNS =
      "v.resource_type, v.resource_id, v.version, v.subject, v.json, v.updated_ms";

  private static final String ORDER =
      " order by v.updated_ms desc, v.resource_type, v.resource_id, v.version desc";

  private final StringBuilder where = new StringBuilder(" where v.clinic = :clinic");
  private final Map<String, Object> values = new LinkedHashMap<>();

  private HistoryStatement(HistoryQuery query, String clinic) {
    values.put("clinic", clinic);
    query.type().ifPresent(type -> add(" and v.resource_type = :type", "type", type));
    query.id().ifPresent(id -> add(" and v.resource_id = :id", "id", id));
    query.since().ifPresent(since -> add(" and v.updated_ms >= :since", "since", ms(since)));
    query.at().ifPresent(at -> add(" and v.updated_ms < :atTo", "atTo", ms(at.to())));
    if (!query.parts().isEmpty()) {
      parts(query.parts());
    }
    query.after().ifPresent(this::after);
  }

  private static long ms(Instant instant) {
    return instant.toEpochMilli();
  }

  static List<PastVersion> run(StatelessSession session, HistoryQuery query, String clinic) {
    HistoryStatement statement = new HistoryStatement(query, clinic);
    NativeQuery<Object[]> found =
        session
            .createNativeQuery(statement.sql(query), Object[].class)
            .addScalar("resource_type", String.class)
            .addScalar("resource_id", String.class)
            .addScalar("version", Long.class)
            .addScalar("subject", String.class)
            .addScalar("json", String.class)
            .addScalar("updated_ms", Long.class)
            .addScalar("deleted", Boolean.class);
    statement.values.forEach(found::setParameter);
    List<PastVersion> versions = new ArrayList<>();
    for (Object[] row : found.list()) {
      versions.add(
          new PastVersion(
              new Stored(
                  (String) row[0],
                  (String) row[1],
                  (Long) row[2],
                  (String) row[3],
                  (String) row[4],
                  Instant.ofEpochMilli((Long) row[5])),
              (Boolean) row[6]));
    }
    return versions;
  }

  /**
   * The newest of the versions that stand, and the newest of those that have been replaced. Their
   * number is written into the statement: of a number that is bound within the union, H2 keeps the
   * first that it was given.
   */
  private String sql(HistoryQuery query) {
    String newest = ORDER + " fetch first " + query.limit() + " rows only";
    String current = "select %s, false as deleted from resource_current v" + where + newest;
    String past = "select %s, v.deleted from resource_version v" + where + stoodAt(query) + newest;
    return "select * from (("
        + current.formatted(COLUMNS)
        + ") union all ("
        + past.formatted(COLUMNS)
        + ")) v"
        + newest;
  }

  /** Not followed by another version before that time began. */
  private String stoodAt(HistoryQuery query) {
    StringBuilder stood = new StringBuilder();
    query
        .at()
        .ifPresent(
            at -> {
              values.put("atFrom", ms(at.from()));
              for (String table : List.of("resource_version", "resource_current")) {
                stood
                    .append(" and not exists (select 1 from ")
                    .append(table)
                    .append(" n where n.clinic = v.clinic and n.resource_type = v.resource_type")
                    .append(" and n.resource_id = v.resource_id and n.version = v.version + 1")
                    .append(" and n.updated_ms <= :atFrom)");
              }
            });
    return stood.toString();
  }

  private void parts(List<HistoryQuery.Part> parts) {
    List<String> tests = new ArrayList<>();
    for (HistoryQuery.Part part : parts) {
      String n = Integer.toString(tests.size());
      values.put("partType" + n, part.type());
      part.subject().ifPresent(subject -> values.put("partSubject" + n, subject));
      tests.add(
          "v.resource_type = :partType"
              + n
              + part.subject().map(subject -> " and v.subject = :partSubject" + n).orElse("")
              + (part.nobody() ? " and v.subject is null" : ""));
    }
    where.append(" and ((").append(String.join(") or (", tests)).append("))");
  }

  private void after(HistoryQuery.Place place) {
    add(
        " and (v.updated_ms < :written or (v.updated_ms = :written and"
            + " (v.resource_type > :placeType or (v.resource_type = :placeType and"
            + " (v.resource_id > :placeId or (v.resource_id = :placeId and"
            + " v.version < :placeVersion))))))",
        "written",
        ms(place.written()));
    values.put("placeType", place.type());
    values.put("placeId", place.id());
    values.put("placeVersion", place.version());
  }

  private void add(String condition, String name, Object value) {
    where.append(condition);
    values.put(name, value);
  }
}
