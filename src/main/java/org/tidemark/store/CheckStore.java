package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.time.Instant;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.hibernate.StatelessSession;
import org.hibernate.query.NativeQuery;
import org.tidemark.clinic.ActingClinic;

/**
 * Reads what a check of the whole database needs. Every method joins the caller's transaction and
 * changes nothing.
 */
@ApplicationScoped
public class CheckStore {
  private static final String RECORD =
      " where clinic = :clinic and resource_type = :type and resource_id = :id";

  private static final List<String> OF_RECORDS =
      List.of("search_token", "search_uri", "search_date", "search_quantity", "identifier_key");

  private static final List<String> OF_PLANS =
      List.of("plan_fact", "plan_order", "caseload", "plan_matter", "paper_due", "sweep_due");

  private final StatelessSession session;

  CheckStore(StatelessSession session) {
    this.session = session;
  }

  /**
   * The key of a record.
   *
   * @param type its type
   * @param id its id
   */
  public record Key(String type, String id) {
    @Override
    public String toString() {
      return type + "/" + id;
    }
  }

  /**
   * A record's current row, and the rows that it is found by.
   *
   * @param stored its current version
   * @param values what it is found by, as it is kept
   */
  public record Indexed(Stored stored, SearchValues values) {}

  // ---- records ----

  /**
   * Records that are there, in the order of their keys.
   *
   * @param after the key before the first; empty type and id for the beginning
   */
  public List<Key> records(Key after, int most) {
    return keys(
        "select resource_type, resource_id from resource_current where clinic = :clinic"
            + " and (resource_type > :type or (resource_type = :type and resource_id > :id))"
            + " order by clinic, resource_type, resource_id limit :most",
        after,
        most);
  }

  /** Records that are there no more and have a history, in the order of their keys. */
  public List<Key> gone(Key after, int most) {
    return keys(
        "select distinct v.resource_type, v.resource_id from resource_version v"
            + " where v.clinic = :clinic and (v.resource_type > :type"
            + " or (v.resource_type = :type and v.resource_id > :id))"
            + " and not exists (select 1 from resource_current c where c.clinic = v.clinic"
            + " and c.resource_type = v.resource_type and c.resource_id = v.resource_id)"
            + " order by v.resource_type, v.resource_id limit :most",
        after,
        most);
  }

  private List<Key> keys(String select, Key after, int most) {
    return of(select, String.class, "resource_type", "resource_id")
        .setParameter("type", after.type())
        .setParameter("id", after.id())
        .setParameter("most", most)
        .list()
        .stream()
        .map(row -> new Key((String) row[0], (String) row[1]))
        .toList();
  }

  /** The current row of a record with what it is found by; empty when it is there no more. */
  public Optional<Indexed> indexed(Key key) {
    return of(
            "select version, subject, json, happened_ms, updated_ms from resource_current" + RECORD,
            Object.class)
        .addScalar("version", Long.class)
        .addScalar("subject", String.class)
        .addScalar("json", String.class)
        .addScalar("happened_ms", Long.class)
        .addScalar("updated_ms", Long.class)
        .setParameter("type", key.type())
        .setParameter("id", key.id())
        .uniqueResultOptional()
        .map(
            row ->
                new Indexed(
                    new Stored(
                        key.type(),
                        key.id(),
                        (Long) row[0],
                        (String) row[1],
                        (String) row[2],
                        Instant.ofEpochMilli((Long) row[4])),
                    new SearchIndex(session, ActingClinic.current(), key.type(), key.id())
                        .values((Long) row[3])));
  }

  /** What came before the current version of a record: all of it, the oldest first. */
  public List<PastVersion> past(Key key) {
    return of(
            "select version, subject, json, updated_ms, deleted from resource_version"
                + RECORD
                + " order by version",
            Object.class)
        .addScalar("version", Long.class)
        .addScalar("subject", String.class)
        .addScalar("json", String.class)
        .addScalar("updated_ms", Long.class)
        .addScalar("deleted", Boolean.class)
        .setParameter("type", key.type())
        .setParameter("id", key.id())
        .list()
        .stream()
        .map(
            row ->
                new PastVersion(
                    new Stored(
                        key.type(),
                        key.id(),
                        (Long) row[0],
                        (String) row[1],
                        (String) row[2],
                        Instant.ofEpochMilli((Long) row[3])),
                    (Boolean) row[4]))
        .toList();
  }

  /** Identifiers that a record has taken: system and value. */
  public List<List<String>> claims(Key key) {
    return of(
            "select identifier_system, identifier_value from identifier_key" + RECORD,
            String.class,
            "identifier_system",
            "identifier_value")
        .setParameter("type", key.type())
        .setParameter("id", key.id())
        .list()
        .stream()
        .map(row -> List.of((String) row[0], (String) row[1]))
        .toList();
  }

  // ---- plans ----

  /** Ids of plans in their order. */
  public List<String> plans(String after, int most) {
    return session
        .createNativeQuery(
            "select plan_id from plan where clinic = :clinic and plan_id > :after"
                + " order by clinic, plan_id limit :most",
            String.class)
        .addScalar("plan_id", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("after", after)
        .setParameter("most", most)
        .list();
  }

  // ---- rows of what is not there ----

  /**
   * How many rows belong to something that is not there, by their table. Where there are none the
   * table is left out.
   */
  public Map<String, Long> orphans() {
    Map<String, Long> orphans = new LinkedHashMap<>();
    for (String table : OF_RECORDS) {
      count(
          orphans,
          table,
          "not exists (select 1 from resource_current c where c.clinic = t.clinic"
              + " and c.resource_type = t.resource_type and c.resource_id = t.resource_id)");
    }
    for (String table : OF_PLANS) {
      count(
          orphans,
          table,
          "not exists (select 1 from plan p where p.clinic = t.clinic and p.plan_id = t.plan_id)");
    }
    count(orphans, "plan", without("CarePlan", "plan_id"));
    count(orphans, "plan_order", without("ServiceRequest", "order_id"));
    count(orphans, "subscription_state", without("Subscription", "subscription_id"));
    count(
        orphans,
        "subscription_event",
        "not exists (select 1 from resource_version v where v.clinic = t.clinic"
            + " and v.resource_type = 'Subscription' and v.resource_id = t.subscription_id) and "
            + without("Subscription", "subscription_id"));
    for (String table : List.of("export_file", "export_member")) {
      count(
          orphans,
          table,
          "not exists (select 1 from export_job j where j.clinic = t.clinic"
              + " and j.job_id = t.job_id)");
    }
    return orphans;
  }

  private static String without(String type, String column) {
    return "not exists (select 1 from resource_current c where c.clinic = t.clinic"
        + " and c.resource_type = '%s' and c.resource_id = t.%s)".formatted(type, column);
  }

  private void count(Map<String, Long> orphans, String table, String condition) {
    long number =
        session
            .createNativeQuery(
                "select count(*) as number from %s t where t.clinic = :clinic and %s"
                    .formatted(table, condition),
                Long.class)
            .addScalar("number", Long.class)
            .setParameter("clinic", ActingClinic.current())
            .uniqueResult();
    if (number > 0) {
      orphans.merge(table, number, Long::sum);
    }
  }

  /** A select of the clinic's rows, with columns of one kind. */
  private NativeQuery<Object[]> of(String select, Class<?> kind, String... columns) {
    NativeQuery<Object[]> query = session.createNativeQuery(select, Object[].class);
    for (String column : columns) {
      query.addScalar(column, kind);
    }
    return query.setParameter("clinic", ActingClinic.current());
  }
}
