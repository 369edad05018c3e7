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
  private final StringBuilder where = new StringBuilder(" where v.clinic = :clinic");
  private final Map<String, Object> values = new LinkedHashMap<>();

  private HistoryStatement(HistoryQuery query, String clinic) {
    values.put("clinic", clinic);
    query.type().ifPresent(type -> add(" and v.resource_type = :type", "type", type));
    query.id().ifPresent(id -> add(" and v.resource_id = :id", "id", id));
    query.since().ifPresent(since -> add(" and v.last_updated >= :since", "since", since));
    query.at().ifPresent(this::at);
    query.after().ifPresent(this::after);
  }

  static List<PastVersion> run(StatelessSession session, HistoryQuery query, String clinic) {
    HistoryStatement statement = new HistoryStatement(query, clinic);
    NativeQuery<Object[]> found =
        session
            .createNativeQuery(
                "select v.resource_type, v.resource_id, v.version, v.subject, v.json,"
                    + " v.last_updated, v.deleted from resource_version v"
                    + statement.where
                    + " order by v.last_updated desc, v.resource_type, v.resource_id,"
                    + " v.version desc",
                Object[].class)
            .addScalar("resource_type", String.class)
            .addScalar("resource_id", String.class)
            .addScalar("version", Long.class)
            .addScalar("subject", String.class)
            .addScalar("json", String.class)
            .addScalar("last_updated", Instant.class)
            .addScalar("deleted", Boolean.class);
    statement.values.forEach(found::setParameter);
    List<PastVersion> versions = new ArrayList<>();
    for (Object[] row : found.setMaxResults(query.limit()).list()) {
      versions.add(
          new PastVersion(
              new Stored(
                  (String) row[0],
                  (String) row[1],
                  (Long) row[2],
                  (String) row[3],
                  (String) row[4],
                  (Instant) row[5]),
              (Boolean) row[6]));
    }
    return versions;
  }

  /** Written before its end, and not followed by another version before it began. */
  private void at(HistoryQuery.Span span) {
    add(" and v.last_updated < :atTo", "atTo", span.to());
    add(
        " and not exists (select 1 from resource_version n where n.clinic = v.clinic"
            + " and n.resource_type = v.resource_type and n.resource_id = v.resource_id"
            + " and n.version = v.version + 1 and n.last_updated <= :atFrom)",
        "atFrom",
        span.from());
  }

  private void after(HistoryQuery.Place place) {
    add(
        " and (v.last_updated < :written or (v.last_updated = :written and"
            + " (v.resource_type > :placeType or (v.resource_type = :placeType and"
            + " (v.resource_id > :placeId or (v.resource_id = :placeId and"
            + " v.version < :placeVersion))))))",
        "written",
        place.written());
    values.put("placeType", place.type());
    values.put("placeId", place.id());
    values.put("placeVersion", place.version());
  }

  private void add(String condition, String name, Object value) {
    where.append(condition);
    values.put(name, value);
  }
}
