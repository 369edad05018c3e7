package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.List;
import java.util.Optional;
import org.hibernate.StatelessSession;
import org.hibernate.query.MutationQuery;
import org.hibernate.query.NativeQuery;
import org.tidemark.clinic.ActingClinic;

/**
 * Keeps what imports were asked for, and how far they have come. Every method joins the caller's
 * transaction.
 */
@ApplicationScoped
public class ImportStore {
  private static final String OF = " where clinic = :clinic and job_id = :id";

  private final StatelessSession session;

  ImportStore(StatelessSession session) {
    this.session = session;
  }

  /**
   * An import.
   *
   * @param id its id
   * @param source the base of the server that the records come from, with a slash at the end
   * @param atMs when it was asked for
   * @param endsMs when it is forgotten
   * @param done whether nothing more is done about it
   * @param failures how often in a row its source has failed
   * @param problem why, the last time; empty when it has not
   */
  public record Job(
      String id,
      String source,
      long atMs,
      long endsMs,
      boolean done,
      int failures,
      String problem) {}

  /**
   * A file of an import.
   *
   * @param number its number in the import, from 1
   * @param type the type of its records
   * @param url where it is
   * @param line how many of its lines have been taken
   * @param written how many records have been written
   * @param known how many were here already as they are there
   * @param refused how many could not be taken
   * @param done whether it has been taken to its end
   */
  public record File(
      int number,
      String type,
      String url,
      long line,
      long written,
      long known,
      long refused,
      boolean done) {}

  /**
   * A line that could not be taken.
   *
   * @param file the number of its file
   * @param line its number in the file, from 1
   * @param outcome why, an OperationOutcome as JSON
   */
  public record Refusal(int file, long line, String outcome) {}

  /** Adds an import. */
  public void add(Job job, List<File> files) {
    of(
            "insert into import_job (clinic, job_id, source, at_ms, ends_ms, done, lease_ms,"
                + " failures, problem) values (:clinic, :id, :source, :at, :ends, false, 0, 0, '')",
            job.id())
        .setParameter("source", job.source())
        .setParameter("at", job.atMs())
        .setParameter("ends", job.endsMs())
        .executeUpdate();
    for (File file : files) {
      of(
              "insert into import_file (clinic, job_id, file_number, resource_type, url, line,"
                  + " written, known, refused, done) values (:clinic, :id, :number, :type, :url, 0,"
                  + " 0, 0, 0, false)",
              job.id())
          .setParameter("number", file.number())
          .setParameter("type", file.type())
          .setParameter("url", file.url())
          .executeUpdate();
    }
  }

  private MutationQuery of(String statement, String id) {
    return session
        .createNativeMutationQuery(statement)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("id", id);
  }

  private NativeQuery<Object[]> read(String statement, String id) {
    return session
        .createNativeQuery(statement, Object[].class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("id", id);
  }

  /** An import that has not been forgotten. */
  public Optional<Job> find(String id) {
    return read(
            "select job_id, source, at_ms, ends_ms, done, failures, problem from import_job" + OF,
            id)
        .addScalar("job_id", String.class)
        .addScalar("source", String.class)
        .addScalar("at_ms", Long.class)
        .addScalar("ends_ms", Long.class)
        .addScalar("done", Boolean.class)
        .addScalar("failures", Integer.class)
        .addScalar("problem", String.class)
        .uniqueResultOptional()
        .map(
            row ->
                new Job(
                    (String) row[0],
                    (String) row[1],
                    (Long) row[2],
                    (Long) row[3],
                    (Boolean) row[4],
                    (Integer) row[5],
                    (String) row[6]));
  }

  /** The files of an import, in their order. */
  public List<File> files(String id) {
    return read(
            "select file_number, resource_type, url, line, written, known, refused, done"
                + " from import_file"
                + OF
                + " order by file_number",
            id)
        .addScalar("file_number", Integer.class)
        .addScalar("resource_type", String.class)
        .addScalar("url", String.class)
        .addScalar("line", Long.class)
        .addScalar("written", Long.class)
        .addScalar("known", Long.class)
        .addScalar("refused", Long.class)
        .addScalar("done", Boolean.class)
        .list()
        .stream()
        .map(
            row ->
                new File(
                    (Integer) row[0],
                    (String) row[1],
                    (String) row[2],
                    (Long) row[3],
                    (Long) row[4],
                    (Long) row[5],
                    (Long) row[6],
                    (Boolean) row[7]))
        .toList();
  }

  /**
   * Takes an import that is not done, for a time during which nobody else takes it.
   *
   * @param nowMs now
   * @param untilMs until when it is taken
   */
  public Optional<Job> claim(long nowMs, long untilMs) {
    Optional<String> free =
        session
            .createNativeQuery(
                "select job_id from import_job where clinic = :clinic and done = false"
                    + " and lease_ms <= :now order by at_ms, job_id limit 1"
                    + " for update skip locked",
                String.class)
            .addScalar("job_id", String.class)
            .setParameter("clinic", ActingClinic.current())
            .setParameter("now", nowMs)
            .uniqueResultOptional();
    free.ifPresent(id -> hold(id, untilMs));
    return free.flatMap(this::find);
  }

  private void hold(String id, long untilMs) {
    of("update import_job set lease_ms = :until" + OF, id)
        .setParameter("until", untilMs)
        .executeUpdate();
  }

  /**
   * Notes lines that were taken.
   *
   * @param id the import
   * @param before the file as it was
   * @param after the file as it is
   * @param untilMs until when the import is taken
   * @throws LostRace when somebody else has gone on with it, or it has been cancelled
   */
  public void advance(String id, File before, File after, long untilMs) {
    int moved =
        of(
                "update import_file set line = :line, written = :written, known = :known,"
                    + " refused = :refused, done = :done"
                    + OF
                    + " and file_number = :number and line = :before and done = false",
                id)
            .setParameter("line", after.line())
            .setParameter("written", after.written())
            .setParameter("known", after.known())
            .setParameter("refused", after.refused())
            .setParameter("done", after.done())
            .setParameter("number", before.number())
            .setParameter("before", before.line())
            .executeUpdate();
    if (moved != 1) {
      throw new LostRace("import " + id);
    }
    hold(id, untilMs);
    of("update import_job set failures = 0, problem = ''" + OF + " and failures > 0", id)
        .executeUpdate();
  }

  /** Keeps a line that could not be taken. */
  public void refuse(String id, Refusal refusal) {
    of(
            "insert into import_refusal (clinic, job_id, file_number, line, outcome)"
                + " values (:clinic, :id, :number, :line, :outcome)",
            id)
        .setParameter("number", refusal.file())
        .setParameter("line", refusal.line())
        .setParameter("outcome", refusal.outcome())
        .executeUpdate();
  }

  /** Lines that could not be taken, in their order. */
  public List<Refusal> refusals(String id, int most) {
    return read(
            "select file_number, line, outcome from import_refusal"
                + OF
                + " order by file_number, line limit :most",
            id)
        .addScalar("file_number", Integer.class)
        .addScalar("line", Long.class)
        .addScalar("outcome", String.class)
        .setParameter("most", most)
        .list()
        .stream()
        .map(row -> new Refusal((Integer) row[0], (Long) row[1], (String) row[2]))
        .toList();
  }

  /**
   * Lets an import go.
   *
   * @param id the import
   * @param done whether nothing more is done about it
   * @param dueMs when it is taken again at the earliest
   * @param failures how often in a row its source has failed
   * @param problem why, the last time
   */
  public void release(String id, boolean done, long dueMs, int failures, String problem) {
    of(
            "update import_job set done = :done, lease_ms = :due, failures = :failures,"
                + " problem = :problem"
                + OF,
            id)
        .setParameter("done", done)
        .setParameter("due", dueMs)
        .setParameter("failures", failures)
        .setParameter("problem", problem)
        .executeUpdate();
  }

  /** Forgets an import; what it has written stays. */
  public void drop(String id) {
    of("delete from import_refusal" + OF, id).executeUpdate();
    of("delete from import_file" + OF, id).executeUpdate();
    of("delete from import_job" + OF, id).executeUpdate();
  }

  /** The imports that have ended by now. */
  public List<String> ended(long nowMs) {
    return session
        .createNativeQuery(
            "select job_id from import_job where clinic = :clinic and ends_ms <= :now",
            String.class)
        .addScalar("job_id", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("now", nowMs)
        .list();
  }
}
