package org.tidemark.store;

import java.util.List;
import org.hibernate.StatelessSession;
import org.hibernate.query.NativeQuery;

/**
 * The records of a type as they stood at a moment, in the order of their ids. A record that still
 * stands as it did then is read from its row. Of one that has been written or deleted since, the
 * version before is read; there are few of those, and they are found by the time of what came
 * after.
 *
 * <p>Numbers of rows are written into the statement: of a number that is bound within a union, H2
 * keeps the first that it was given.
 */
final class SnapshotStatement {
  private static final String OF = "%1$s.clinic = :clinic and %1$s.resource_type = :type";

  /** What was written since, and by which version. */
  private static final String SINCE =
      "(select n.resource_id, n.version from resource_current n where "
          + OF.formatted("n")
          + " and n.updated_ms > :at union all select n.resource_id, n.version"
          + " from resource_version n where "
          + OF.formatted("n")
          + " and n.updated_ms > :at)";

  private final ExportStore.Snapshot snapshot;
  private final String clinic;
  private final String afterId;
  private final String rows;

  SnapshotStatement(
      ExportStore.Snapshot snapshot, String clinic, boolean deleted, String afterId, int most) {
    this.snapshot = snapshot;
    this.clinic = clinic;
    this.afterId = afterId;
    this.rows = deleted ? deletions() + first("d.", most) : standing(most);
  }

  /** H2 reads an index in its order only where all its columns are named. */
  private static String first(String row, int most) {
    return (" order by %1$sclinic, %1$sresource_type, %1$sresource_id fetch first "
            + most
            + " rows only")
        .formatted(row);
  }

  private String standing(int most) {
    String current =
        "select c.resource_id, c.json from resource_current c where "
            + OF.formatted("c")
            + wanted("c");
    String before =
        "select v.resource_id, v.json from "
            + SINCE
            + " s join resource_version v on "
            + OF.formatted("v")
            + " and v.resource_id = s.resource_id and v.version = s.version - 1"
            + " where v.deleted = false"
            + wanted("v");
    return "select * from (("
        + current
        + first("c.", most)
        + ") union all ("
        + before
        + first("v.", most)
        + ")) r order by resource_id fetch first "
        + most
        + " rows only";
  }

  /** Deletions after which nothing was written up to the moment. */
  private String deletions() {
    return "select d.resource_id, '' as json from resource_version d where "
        + OF.formatted("d")
        + " and d.deleted = true"
        + wanted("d")
        + notFollowed("resource_current")
        + notFollowed("resource_version");
  }

  private static String notFollowed(String table) {
    return " and not exists (select 1 from "
        + table
        + " n where "
        + OF.formatted("n")
        + " and n.resource_id = d.resource_id and n.version = d.version + 1"
        + " and n.updated_ms <= :at)";
  }

  /** The times are added to, so that rows are read in the order of their ids and not sorted. */
  private String wanted(String row) {
    return (" and %1$s.resource_id > :after and %1$s.updated_ms + 0 <= :at"
            + " and %1$s.updated_ms + 0 > :since"
            + whose())
        .formatted(row);
  }

  private String whose() {
    String member =
        "exists (select 1 from export_member m where m.clinic = :clinic and m.job_id = :job"
            + " and m.subject = %1$s.subject)";
    return switch (snapshot.whose()) {
      case ANYONE -> "";
      case PEOPLE -> " and %1$s.subject is not null";
      case MEMBERS -> " and " + member;
      case MEMBERS_OR_NOBODY -> " and (%1$s.subject is null or " + member + ")";
    };
  }

  /** The statement. */
  String text() {
    return rows;
  }

  /** How many there are, and the last. */
  ExportStore.Slice slice(StatelessSession session) {
    Object[] row =
        bound(
                session
                    .createNativeQuery(
                        "select max(resource_id) as last_id, count(*) as records from ("
                            + rows
                            + ") f",
                        Object[].class)
                    .addScalar("last_id", String.class)
                    .addScalar("records", Long.class))
            .uniqueResult();
    return new ExportStore.Slice((String) row[0], (Long) row[1]);
  }

  /** The records. */
  List<ExportStore.Line> lines(StatelessSession session) {
    return bound(
            session
                .createNativeQuery(rows, Object[].class)
                .addScalar("resource_id", String.class)
                .addScalar("json", String.class))
        .list()
        .stream()
        .map(row -> new ExportStore.Line((String) row[0], (String) row[1]))
        .toList();
  }

  private NativeQuery<Object[]> bound(NativeQuery<Object[]> query) {
    if (snapshot.whose().isOfMembers()) {
      query.setParameter("job", snapshot.jobId());
    }
    return query
        .setParameter("clinic", clinic)
        .setParameter("type", snapshot.type())
        .setParameter("after", afterId)
        .setParameter("at", snapshot.atMs())
        .setParameter("since", snapshot.sinceMs());
  }
}
