package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import jakarta.transaction.TransactionSynchronizationRegistry;
import java.time.Instant;
import java.util.Arrays;
import java.util.Collection;
import java.util.HashSet;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.SortedSet;
import java.util.function.Supplier;
import org.hibernate.StatelessSession;
import org.hibernate.id.uuid.UuidVersion7Strategy;
import org.tidemark.clinic.ActingClinic;

/**
 * Keeps records and finds them again. Every method joins the caller's transaction, and a read sees
 * what that transaction has written.
 */
@ApplicationScoped
public class ResourceStore {
  private static final String UNWRITTEN = "tidemark.unwritten";

  private final StatelessSession session;
  private final TransactionSynchronizationRegistry transactions;

  ResourceStore(StatelessSession session, TransactionSynchronizationRegistry transactions) {
    this.session = session;
    this.transactions = transactions;
  }

  /**
   * Does the work of the transaction that runs; the new records that it writes go to the database
   * together, as soon as something is asked for that could be one of them, at the latest at the
   * work's end.
   *
   * @param <T> what comes of it
   * @param work the work; of what is stored it reads and writes through this store
   * @return what comes of it
   */
  public <T> T together(Supplier<T> work) {
    transactions.putResource(UNWRITTEN, new Unwritten());
    T done = work.get();
    settled();
    return done;
  }

  /** The session, once all that was to be written has been. */
  private StatelessSession settled() {
    unwritten().ifPresent(waiting -> waiting.drain(session::insertMultiple));
    return session;
  }

  /** The session, once a record has been written if it was to be. */
  private StatelessSession settled(String type, String id) {
    boolean waits =
        unwritten().filter(waiting -> waiting.holds(ActingClinic.current(), type, id)).isPresent();
    return waits ? settled() : session;
  }

  private Optional<Unwritten> unwritten() {
    return transactions.getTransactionKey() == null
        ? Optional.empty()
        : Optional.ofNullable((Unwritten) transactions.getResource(UNWRITTEN));
  }

  /**
   * An id for a new record: a UUID that begins with the time (RFC 9562, version 7), so that what is
   * written together lies together in the indexes.
   *
   * @return the id
   */
  public static String newId() {
    return UuidVersion7Strategy.INSTANCE.generateUuid(null).toString();
  }

  /**
   * The current version of a record.
   *
   * @param type its type
   * @param id its id
   * @return the version, or empty when there is no such record
   */
  public Optional<Stored> find(String type, String id) {
    return SearchStatement.query(
            settled(type, id),
            SearchStatement.SELECT
                + "where c.clinic = :clinic and c.resource_type = :type and c.resource_id = :id")
        .setParameter("clinic", ActingClinic.current())
        .setParameter("type", type)
        .setParameter("id", id)
        .uniqueResultOptional()
        .map(SearchStatement::stored);
  }

  /**
   * The number of a record's current version.
   *
   * @param type its type
   * @param id its id
   * @return the number, or 0 when there is no such record
   */
  public long currentVersion(String type, String id) {
    return settled(type, id)
        .createNativeQuery(
            "select version from resource_current"
                + " where clinic = :clinic and resource_type = :type and resource_id = :id",
            Long.class)
        .addScalar("version", Long.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("type", type)
        .setParameter("id", id)
        .uniqueResultOptional()
        .orElse(0L);
  }

  /**
   * Those of some ids under which there is no record and never was one.
   *
   * @param type its type
   * @param ids the ids, one at least
   */
  public Set<String> unused(String type, Set<String> ids) {
    return Set.copyOf(
        settled()
            .createNativeQuery(
                "select i.id as id from unnest(cast(:ids as varchar array)) as i(id)"
                    + " where (select count(*) from resource_current where clinic = :clinic"
                    + " and resource_type = :type and resource_id = i.id) = 0"
                    + " and (select count(*) from resource_version where clinic = :clinic"
                    + " and resource_type = :type and resource_id = i.id) = 0",
                String.class)
            .addScalar("id", String.class)
            .setParameter("clinic", ActingClinic.current())
            .setParameter("type", type)
            .setParameter("ids", ids.toArray(String[]::new))
            .list());
  }

  /**
   * One version of a record.
   *
   * @param type its type
   * @param id its id
   * @param version its version
   * @return the version, or empty when there is none
   */
  public Optional<Stored> findVersion(String type, String id, long version) {
    return find(type, id)
        .filter(current -> current.version() == version)
        .or(
            () ->
                Optional.ofNullable(
                        settled()
                            .get(
                                VersionRow.class,
                                new VersionRow.Key(ActingClinic.current(), type, id, version)))
                    .filter(row -> !row.deleted)
                    .map(
                        row ->
                            new Stored(
                                row.type,
                                row.id,
                                row.version,
                                row.subject,
                                row.json,
                                Instant.ofEpochMilli(row.updatedMs))));
  }

  /**
   * The number of a record's last version, also when it has been deleted since.
   *
   * @param type its type
   * @param id its id
   * @return the number, or 0 when there never was such a record
   */
  public long lastVersion(String type, String id) {
    long current = currentVersion(type, id);
    return current > 0 ? current : lastPastVersion(type, id);
  }

  /**
   * The deletion of a record that is there no more.
   *
   * @param type its type
   * @param id its id
   * @return its last version, without text; empty when the record is there, or never was
   */
  public Optional<Stored> deletion(String type, String id) {
    return settled()
        .createNativeQuery(
            "select version, subject, updated_ms from resource_version v where clinic = :clinic"
                + " and resource_type = :type and resource_id = :id and deleted = true"
                + " and not exists (select 1 from resource_current c where c.clinic = v.clinic"
                + " and c.resource_type = v.resource_type and c.resource_id = v.resource_id)"
                + " order by version desc fetch first 1 row only",
            Object[].class)
        .addScalar("version", Long.class)
        .addScalar("subject", String.class)
        .addScalar("updated_ms", Long.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("type", type)
        .setParameter("id", id)
        .uniqueResultOptional()
        .map(
            row ->
                new Stored(
                    type,
                    id,
                    (Long) row[0],
                    (String) row[1],
                    "",
                    Instant.ofEpochMilli((Long) row[2])));
  }

  /**
   * The number of the last version that a record had before its current one, or before it was
   * deleted.
   *
   * @param type its type
   * @param id its id
   * @return the number, or 0 when there is none
   */
  public long lastPastVersion(String type, String id) {
    return settled()
        .createNativeQuery(
            "select max(version) as last from resource_version"
                + " where clinic = :clinic and resource_type = :type and resource_id = :id",
            Long.class)
        .addScalar("last", Long.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("type", type)
        .setParameter("id", id)
        .uniqueResultOptional()
        .orElse(0L);
  }

  /**
   * Versions, the newest first.
   *
   * @param query which
   * @return at most {@link HistoryQuery#limit} versions
   */
  public List<PastVersion> history(HistoryQuery query) {
    return HistoryStatement.run(settled(), query, ActingClinic.current());
  }

  /**
   * Something that is another after each write of a type's records, by whichever process.
   *
   * @param type the type, one with few records
   * @return a text to be compared with an earlier one
   */
  public String stateOf(String type) {
    Object[] state =
        settled()
            .createNativeQuery(
                "select count(*) as number, cast(coalesce(sum(version), 0) as bigint) as versions,"
                    + " coalesce(max(updated_ms), 0) as newest from resource_current"
                    + " where clinic = :clinic and resource_type = :type",
                Object[].class)
            .addScalar("number", Long.class)
            .addScalar("versions", Long.class)
            .addScalar("newest", Long.class)
            .setParameter("clinic", ActingClinic.current())
            .setParameter("type", type)
            .uniqueResult();
    return Arrays.toString(state);
  }

  /**
   * Records that refer to a record by what they can be found by.
   *
   * @param target the normalised reference to the record
   * @param most how many to return at the most
   * @return normalised references to them
   */
  public List<String> referrers(String target, int most) {
    return settled()
        .createNativeQuery(
            "select distinct resource_type || '/' || resource_id as referrer from search_uri"
                + " where clinic = :clinic and target = :target"
                + " union select resource_type || '/' || resource_id from resource_current"
                + " where clinic = :clinic and subject = :target"
                + " and resource_type || '/' || resource_id <> :target",
            String.class)
        .addScalar("referrer", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("target", target)
        .setMaxResults(most)
        .list();
  }

  /**
   * Deletes a record: it is found no more, and its history ends with the deletion.
   *
   * @param last its current version
   * @param when the moment of the deletion
   * @throws LostRace when another writer has moved the record on
   */
  public void delete(Stored last, Instant when) {
    keepPast(last.type(), last.id(), last.version());
    int deleted =
        settled()
            .createNativeMutationQuery(
                "delete from resource_current where clinic = :clinic and resource_type = :type"
                    + " and resource_id = :id and version = :version")
            .setParameter("clinic", ActingClinic.current())
            .setParameter("type", last.type())
            .setParameter("id", last.id())
            .setParameter("version", last.version())
            .executeUpdate();
    if (deleted != 1) {
      throw new LostRace(last.type() + " version " + last.version());
    }
    index(last).drop();
    releaseIdentifiers(last);
    settled()
        .insert(
            new VersionRow(
                ActingClinic.current(),
                last.type(),
                last.id(),
                last.version() + 1,
                last.subject(),
                "",
                when.toEpochMilli(),
                true));
  }

  /**
   * Writes the next version of a record.
   *
   * @param next the version
   * @param values what it can be found by; what the version before was found by is dropped
   * @param former the version that stands now, 0 when there is none
   * @throws LostRace when another writer has moved the record on
   */
  public void write(Stored next, SearchValues values, long former) {
    if (former == 0) {
      CurrentRow row =
          new CurrentRow(
              ActingClinic.current(),
              next.type(),
              next.id(),
              next.version(),
              next.subject(),
              values.happenedMs(),
              next.lastUpdated().toEpochMilli(),
              next.json());
      Optional<Unwritten> waiting = unwritten();
      Unwritten rows = waiting.orElseGet(Unwritten::new);
      rows.add(row, index(next).rows(values));
      if (waiting.isEmpty()) {
        rows.drain(session::insertMultiple);
      }
    } else {
      keepPast(next.type(), next.id(), former);
      moveOn(next, values, former);
      index(next).replace(values);
      releaseIdentifiers(next);
    }
  }

  /** Copies the current version to those that have been replaced. */
  private void keepPast(String type, String id, long version) {
    settled()
        .createNativeMutationQuery(
            "insert into resource_version (clinic, resource_type, resource_id, version, subject,"
                + " json, updated_ms, deleted) select clinic, resource_type, resource_id, version,"
                + " subject, json, updated_ms, false from resource_current where clinic = :clinic"
                + " and resource_type = :type and resource_id = :id and version = :version")
        .setParameter("clinic", ActingClinic.current())
        .setParameter("type", type)
        .setParameter("id", id)
        .setParameter("version", version)
        .executeUpdate();
  }

  private void moveOn(Stored next, SearchValues values, long former) {
    int moved =
        settled()
            .createNativeMutationQuery(
                "update resource_current set version = :next, subject = :subject,"
                    + " happened_ms = :happened, updated_ms = :updated, json = :json"
                    + " where clinic = :clinic and resource_type = :type and resource_id = :id"
                    + " and version = :former")
            .setParameter("next", next.version())
            .setParameter("former", former)
            .setParameter("subject", next.subject(), String.class)
            .setParameter("happened", values.happenedMs())
            .setParameter("updated", next.lastUpdated().toEpochMilli())
            .setParameter("json", next.json())
            .setParameter("clinic", ActingClinic.current())
            .setParameter("type", next.type())
            .setParameter("id", next.id())
            .executeUpdate();
    if (moved != 1) {
      throw new LostRace(next.type() + " version " + next.version());
    }
  }

  private SearchIndex index(Stored of) {
    return new SearchIndex(session, ActingClinic.current(), of.type(), of.id());
  }

  /** Frees the identifiers that an earlier version had claimed and this one no longer carries. */
  private void releaseIdentifiers(Stored next) {
    settled()
        .createNativeMutationQuery(
            "delete from identifier_key k where k.clinic = :clinic and k.resource_type = :type"
                + " and k.resource_id = :id and not exists (select 1 from search_token t"
                + " where t.clinic = k.clinic and t.resource_type = k.resource_type"
                + " and t.resource_id = k.resource_id and t.parameter = 'identifier'"
                + " and t.code_system = k.identifier_system and t.code = k.identifier_value)")
        .setParameter("clinic", ActingClinic.current())
        .setParameter("type", next.type())
        .setParameter("id", next.id())
        .executeUpdate();
  }

  /**
   * Takes an identifier for one record, so that no other conditional create can.
   *
   * @param type the record's type
   * @param system the identifier's system, empty when it has none
   * @param identifier its value
   * @param id the record's id
   * @throws RuntimeException one that {@link LostRace#isLostRace} knows, when it is taken
   */
  public void claim(String type, String system, String identifier, String id) {
    session.insert(new IdentifierKey(ActingClinic.current(), type, system, identifier, id));
  }

  /**
   * Whether a record has taken an identifier.
   *
   * @param type the record's type
   * @param system the identifier's system, empty when it has none
   * @param identifier its value
   */
  public boolean isClaimed(String type, String system, String identifier) {
    return session.get(
            IdentifierKey.class,
            new IdentifierKey.Key(ActingClinic.current(), type, system, identifier))
        != null;
  }

  /**
   * Lets one writer at a time through for each of these people, until its transaction ends. Without
   * it two reports that arrive together would each be judged without the other.
   *
   * @param subjects normalised references; taken in their order, so that writers cannot block each
   *     other for ever
   */
  public void takeTurns(SortedSet<String> subjects) {
    if (subjects.isEmpty()) {
      return;
    }
    Set<String> held =
        new HashSet<>(
            session
                .createNativeQuery(
                    "select subject from subject_lock where clinic = :clinic"
                        + " and subject in (:subjects) order by subject for update",
                    String.class)
                .addScalar("subject", String.class)
                .setParameter("clinic", ActingClinic.current())
                .setParameterList("subjects", subjects)
                .list());
    session.insertMultiple(
        subjects.stream()
            .filter(subject -> !held.contains(subject))
            .map(subject -> new SubjectLock(ActingClinic.current(), subject))
            .toList());
  }

  /**
   * The current versions that match.
   *
   * @param query what to look for
   * @return at most {@link Query#limit} records, in the order asked for
   */
  public List<Found> search(Query query) {
    return SearchStatement.of(query, ActingClinic.current()).page(settled(), query).stream()
        .map(row -> new Found(SearchStatement.stored(row), place(row)))
        .toList();
  }

  private static Query.Cursor place(Object[] row) {
    return new Query.Cursor(Arrays.asList(row).subList(SearchStatement.KEYS_AT, row.length));
  }

  /**
   * How many current versions match, whatever the query's limit and place.
   *
   * @param query what to look for
   * @return the number
   */
  public long count(Query query) {
    return SearchStatement.of(query, ActingClinic.current()).count(settled());
  }

  /**
   * What records refer to by one of their parameters.
   *
   * @param type the records' type
   * @param ids their ids, one or more
   * @param parameter the search parameter
   * @return the normalised references, each once
   */
  public List<String> targets(String type, Collection<String> ids, String parameter) {
    return settled()
        .createNativeQuery(
            "select distinct target from search_uri where clinic = :clinic"
                + " and resource_type = :type and resource_id in :ids and parameter = :parameter"
                + " order by target",
            String.class)
        .addScalar("target", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("type", type)
        .setParameterList("ids", ids)
        .setParameter("parameter", parameter)
        .list();
  }

  /**
   * A record that a search found.
   *
   * @param stored the record
   * @param place its place in the result, after which the next page begins
   */
  public record Found(Stored stored, Query.Cursor place) {}
}
