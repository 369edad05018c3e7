package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.Collection;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.TreeSet;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hibernate.StatelessSession;
import org.hibernate.query.MutationQuery;
import org.tidemark.clinic.ActingClinic;

/** Keeps what exports were asked for, and into which files they are divided. */
@ApplicationScoped
public class ExportStore {
  /** The place of an export that has been divided, instead of that of a type. */
  public static final int DIVIDED = -1;

  private static final String OF = " where clinic = :clinic and job_id = :id";

  private static final String COLUMNS =
      "select job_id, request, people, group_id, types, filters, since_ms, at_ms, ends_ms, type_index,"
          + " reached_id, files from export_job";

  private final StatelessSession session;
  private final boolean server;

  ExportStore(
      StatelessSession session, @ConfigProperty(name = ChosenDatabase.URL) Optional<String> url) {
    this.session = session;
    this.server = url.filter(address -> !address.isBlank()).isPresent();
  }

  /**
   * An export.
   *
   * @param id its id
   * @param request the address by which it was asked for
   * @param people whether only what is about people is wanted
   * @param group the id of the Group of whose members only it is wanted; empty for everyone
   * @param types the types wanted
   * @param filters searches, one of which a record of their types must meet
   * @param sinceMs the records must have been written after this moment; {@link Long#MIN_VALUE} for
   *     all
   * @param atMs the records are given as they stood at this moment
   * @param endsMs when it is forgotten
   * @param typeIndex how many types have been divided into files; {@link #DIVIDED} when all have
   * @param reachedId up to which id the next one has been
   * @param files how many files there are
   */
  public record Job(
      String id,
      String request,
      boolean people,
      String group,
      List<String> types,
      List<String> filters,
      long sinceMs,
      long atMs,
      long endsMs,
      int typeIndex,
      String reachedId,
      int files) {
    /** The same export, divided further. */
    public Job moved(int newIndex, String newReached, int newFiles) {
      return new Job(
          id,
          request,
          people,
          group,
          types,
          filters,
          sinceMs,
          atMs,
          endsMs,
          newIndex,
          newReached,
          newFiles);
    }
  }

  /**
   * A file of an export.
   *
   * @param number its number in the export, from 1
   * @param type the type of its records
   * @param deleted whether it tells of deletions
   * @param afterId its records have ids after this one
   * @param lastId up to this one
   * @param records how many there are; -1 where this is not known
   */
  public record File(
      int number, String type, boolean deleted, String afterId, String lastId, long records) {}

  /**
   * Adds an export.
   *
   * @param job the export
   * @param members normalised references to whom it is about; none where it is about everyone
   */
  public void add(Job job, Collection<String> members) {
    of(
            "insert into export_job (clinic, job_id, request, people, group_id, types, filters,"
                + " since_ms, at_ms, ends_ms, type_index, reached_id, files, lease_ms) values"
                + " (:clinic, :id, :request, :people, :group, :types, :filters, :since, :at, :ends, 0, '', 0, 0)",
            job.id())
        .setParameter("request", job.request())
        .setParameter("people", job.people())
        .setParameter("group", job.group())
        .setParameter("types", String.join(",", job.types()))
        .setParameter("filters", String.join("\n", job.filters()))
        .setParameter("since", job.sinceMs())
        .setParameter("at", job.atMs())
        .setParameter("ends", job.endsMs())
        .executeUpdate();
    for (String member : members) {
      of(
              "insert into export_member (clinic, job_id, subject)"
                  + " values (:clinic, :id, :subject)",
              job.id())
          .setParameter("subject", member)
          .executeUpdate();
    }
  }

  private MutationQuery of(String statement, String id) {
    return session
        .createNativeMutationQuery(statement)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("id", id);
  }

  /** An export that has not ended. */
  public Optional<Job> find(String id, long nowMs) {
    return session
        .createNativeQuery(COLUMNS + OF + " and ends_ms > :now", Object[].class)
        .addScalar("job_id", String.class)
        .addScalar("request", String.class)
        .addScalar("people", Boolean.class)
        .addScalar("group_id", String.class)
        .addScalar("types", String.class)
        .addScalar("filters", String.class)
        .addScalar("since_ms", Long.class)
        .addScalar("at_ms", Long.class)
        .addScalar("ends_ms", Long.class)
        .addScalar("type_index", Integer.class)
        .addScalar("reached_id", String.class)
        .addScalar("files", Integer.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("id", id)
        .setParameter("now", nowMs)
        .uniqueResultOptional()
        .map(ExportStore::job);
  }

  private static Job job(Object[] row) {
    return new Job(
        (String) row[0],
        (String) row[1],
        (Boolean) row[2],
        (String) row[3],
        List.of(((String) row[4]).split(",")),
        ((String) row[5]).isEmpty() ? List.of() : List.of(((String) row[5]).split("\n")),
        (Long) row[6],
        (Long) row[7],
        (Long) row[8],
        (Integer) row[9],
        (String) row[10],
        (Integer) row[11]);
  }

  /**
   * Takes an export that has not been divided, for a time during which nobody else takes it.
   *
   * @param askedMs it was asked for then or before
   * @param nowMs now
   * @param untilMs until when it is taken
   */
  public Optional<Job> claim(long askedMs, long nowMs, long untilMs) {
    Optional<String> free =
        session
            .createNativeQuery(
                "select job_id from export_job where clinic = :clinic and type_index >= 0"
                    + " and at_ms <= :asked and lease_ms <= :now and ends_ms > :now"
                    + " order by at_ms, job_id limit 1 for update skip locked",
                String.class)
            .addScalar("job_id", String.class)
            .setParameter("clinic", ActingClinic.current())
            .setParameter("asked", askedMs)
            .setParameter("now", nowMs)
            .uniqueResultOptional();
    free.ifPresent(id -> hold(id, untilMs));
    return free.flatMap(id -> find(id, nowMs));
  }

  /** Goes on holding an export. */
  public void hold(String id, long untilMs) {
    of("update export_job set lease_ms = :until" + OF, id)
        .setParameter("until", untilMs)
        .executeUpdate();
  }

  /**
   * Remembers how far an export has been divided.
   *
   * @param job the export as it was
   * @param next the export as it is
   * @param untilMs until when it is taken
   * @throws LostRace when somebody else has gone on with it, or it has been cancelled
   */
  public void advance(Job job, Job next, long untilMs) {
    int moved =
        of(
                "update export_job set type_index = :next, reached_id = :reached, files = :files,"
                    + " lease_ms = :until"
                    + OF
                    + " and type_index = :index and reached_id = :from",
                job.id())
            .setParameter("next", next.typeIndex())
            .setParameter("reached", next.reachedId())
            .setParameter("files", next.files())
            .setParameter("until", untilMs)
            .setParameter("index", job.typeIndex())
            .setParameter("from", job.reachedId())
            .executeUpdate();
    if (moved != 1) {
      throw new LostRace("export " + job.id());
    }
  }

  /** Adds a file to an export. */
  public void add(String jobId, File file) {
    of(
            "insert into export_file (clinic, job_id, file_number, resource_type, deleted,"
                + " after_id, last_id, records) values (:clinic, :id, :number, :type, :deleted,"
                + " :after, :last, :records)",
            jobId)
        .setParameter("number", file.number())
        .setParameter("type", file.type())
        .setParameter("deleted", file.deleted())
        .setParameter("after", file.afterId())
        .setParameter("last", file.lastId())
        .setParameter("records", file.records())
        .executeUpdate();
  }

  /** The files of an export, in their order. */
  public List<File> files(String jobId) {
    return session
        .createNativeQuery(
            "select file_number, resource_type, deleted, after_id, last_id, records"
                + " from export_file"
                + OF
                + " order by file_number",
            Object[].class)
        .addScalar("file_number", Integer.class)
        .addScalar("resource_type", String.class)
        .addScalar("deleted", Boolean.class)
        .addScalar("after_id", String.class)
        .addScalar("last_id", String.class)
        .addScalar("records", Long.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("id", jobId)
        .list()
        .stream()
        .map(
            row ->
                new File(
                    (Integer) row[0],
                    (String) row[1],
                    (Boolean) row[2],
                    (String) row[3],
                    (String) row[4],
                    (Long) row[5]))
        .toList();
  }

  /** Forgets an export. */
  public void drop(String id) {
    of("delete from export_file" + OF, id).executeUpdate();
    of("delete from export_member" + OF, id).executeUpdate();
    of("delete from export_job" + OF, id).executeUpdate();
  }

  /** The exports that have ended. */
  public List<String> ended(long nowMs) {
    return session
        .createNativeQuery(
            "select job_id from export_job where clinic = :clinic and ends_ms <= :now",
            String.class)
        .addScalar("job_id", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("now", nowMs)
        .list();
  }

  /**
   * Transactions of others that have written and are not over yet, of whichever process.
   *
   * @return names that tell them apart; on the embedded database those of their connections
   */
  public Set<String> writers() {
    String sql =
        server
            ? "select cast(pid as varchar) || ':' || cast(backend_xid as varchar) as writer"
                + " from pg_stat_activity where datname = current_database()"
                + " and backend_xid is not null and pid <> pg_backend_pid()"
            : "select cast(session_id as varchar) as writer from information_schema.sessions"
                + " where contains_uncommitted and session_id <> session_id()";
    return new TreeSet<>(
        session.createNativeQuery(sql, String.class).addScalar("writer", String.class).list());
  }

  // ---- the records ----

  /** Whom records are about. */
  public enum Whose {
    /** Anyone, or nobody. */
    ANYONE,
    /** Somebody. */
    PEOPLE,
    /** Those whom the export is about. */
    MEMBERS,
    /** Those whom the export is about, or nobody. */
    MEMBERS_OR_NOBODY;

    boolean isOfMembers() {
      return this == MEMBERS || this == MEMBERS_OR_NOBODY;
    }
  }

  /**
   * Which records of a type.
   *
   * @param type the type
   * @param whose whom they are about
   * @param jobId the id of the export
   * @param sinceMs written after this moment
   * @param atMs as they stood at this one
   */
  public record Snapshot(String type, Whose whose, String jobId, long sinceMs, long atMs) {}

  /**
   * Some records in the order of their ids.
   *
   * @param lastId the id of the last
   * @param records how many there are
   */
  public record Slice(String lastId, long records) {}

  /**
   * A record of an export.
   *
   * @param id its id
   * @param json its text; empty for a deletion
   */
  public record Line(String id, String json) {}

  /** The next records after an id, or deletions; empty when there are none. */
  public Optional<Slice> slice(Snapshot of, boolean deleted, String afterId, int most) {
    SnapshotStatement statement =
        new SnapshotStatement(of, ActingClinic.current(), deleted, afterId, most);
    return Optional.of(statement.slice(session)).filter(slice -> slice.records() > 0);
  }

  /** The next records after an id, or deletions. */
  public List<Line> lines(Snapshot of, boolean deleted, String afterId, int most) {
    return new SnapshotStatement(of, ActingClinic.current(), deleted, afterId, most).lines(session);
  }
}
