package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalInt;
import java.util.TreeMap;
import org.hibernate.StatelessSession;
import org.hibernate.query.NativeQuery;
import org.tidemark.clinic.ActingClinic;

/**
 * Keeps what each plan that runs needs of a clinician, so that the list of all of them need not
 * read a plan. Every method joins the caller's transaction.
 */
@ApplicationScoped
public class CaseloadStore {
  private final StatelessSession session;

  CaseloadStore(StatelessSession session) {
    this.session = session;
  }

  /**
   * A line of the list.
   *
   * @param of what is needed
   * @param side the side of the body that the plan is for
   * @param programme the programme, address and version
   * @param status the status of the CarePlan
   * @param issued what has been issued for the plan, as JSON text
   */
  public record Line(StoredCase of, String side, String programme, String status, String issued) {}

  /**
   * Which lines are looked for.
   *
   * @param need the place of the need; empty for every need
   * @param name a part of the person's name in any case; blank for everyone
   */
  public record Wanted(OptionalInt need, String name) {}

  /** The row of a plan; empty when it does not run. */
  public Optional<StoredCase> find(String planId) {
    return Optional.ofNullable(
            session.get(CaseloadRow.class, new CaseloadRow.Key(ActingClinic.current(), planId)))
        .map(CaseloadRow::stored);
  }

  public void insert(StoredCase row) {
    session.insert(new CaseloadRow(ActingClinic.current(), row));
  }

  public void update(StoredCase row) {
    session.update(new CaseloadRow(ActingClinic.current(), row));
  }

  /** Takes a plan off the list. */
  public void remove(String planId) {
    session
        .createNativeMutationQuery(
            "delete from caseload where clinic = :clinic and plan_id = :plan")
        .setParameter("clinic", ActingClinic.current())
        .setParameter("plan", planId)
        .executeUpdate();
  }

  /** Gives a person another name on every plan. */
  public void rename(String subject, String person) {
    session
        .createNativeMutationQuery(
            "update caseload set person = :person where clinic = :clinic and subject = :subject")
        .setParameter("person", person)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("subject", subject)
        .executeUpdate();
  }

  /** The lines in the order of the list. */
  public List<Line> lines(Wanted wanted, int offset, int limit) {
    NativeQuery<Object[]> query =
        session
            .createNativeQuery(
                "select c.plan_id, c.subject, c.person, c.need, c.task, c.overdue, c.since_ms,"
                    + " p.side, p.programme, p.status, p.issued from caseload c join plan p"
                    + " on p.clinic = c.clinic and p.plan_id = c.plan_id"
                    + where(wanted)
                    + " order by c.need, c.since_ms, c.plan_id limit :limit offset :offset",
                Object[].class)
            .addScalar("plan_id", String.class)
            .addScalar("subject", String.class)
            .addScalar("person", String.class)
            .addScalar("need", Integer.class)
            .addScalar("task", String.class)
            .addScalar("overdue", Boolean.class)
            .addScalar("since_ms", Long.class)
            .addScalar("side", String.class)
            .addScalar("programme", String.class)
            .addScalar("status", String.class)
            .addScalar("issued", String.class)
            .setParameter("limit", limit)
            .setParameter("offset", offset);
    return filled(query, wanted).list().stream().map(CaseloadStore::line).toList();
  }

  private static Line line(Object[] row) {
    StoredCase of =
        new StoredCase(
            (String) row[0],
            (String) row[1],
            (String) row[2],
            (Integer) row[3],
            (String) row[4],
            (Boolean) row[5],
            (Long) row[6]);
    return new Line(of, (String) row[7], (String) row[8], (String) row[9], (String) row[10]);
  }

  /** How many plans there are of each need among those with a name, by its place in the order. */
  public Map<Integer, Long> counts(String name) {
    Wanted wanted = new Wanted(OptionalInt.empty(), name);
    NativeQuery<Object[]> query =
        session
            .createNativeQuery(
                "select c.need, count(*) as number from caseload c"
                    + where(wanted)
                    + " group by c.need",
                Object[].class)
            .addScalar("need", Integer.class)
            .addScalar("number", Long.class);
    Map<Integer, Long> counts = new TreeMap<>();
    filled(query, wanted).list().forEach(row -> counts.put((Integer) row[0], (Long) row[1]));
    return counts;
  }

  private static String where(Wanted wanted) {
    return " where c.clinic = :clinic"
        + (wanted.need().isPresent() ? " and c.need = :need" : "")
        + (wanted.name().isBlank() ? "" : " and lower(c.person) like :name escape '!'");
  }

  private <T> NativeQuery<T> filled(NativeQuery<T> query, Wanted wanted) {
    query.setParameter("clinic", ActingClinic.current());
    if (wanted.need().isPresent()) {
      query.setParameter("need", wanted.need().getAsInt());
    }
    if (!wanted.name().isBlank()) {
      query.setParameter("name", "%" + literal(wanted.name().strip()) + "%");
    }
    return query;
  }

  /** A text that is looked for as it is, without wild cards. */
  private static String literal(String text) {
    return text.toLowerCase(Locale.ROOT).replaceAll("([!%_])", "!$1");
  }

  // ---- what the daily sweep has raised ----

  /** Everything that was raised about a plan and still holds. */
  public List<StoredMatter> matters(String planId) {
    return session
        .createNativeQuery(
            "select * from plan_matter where clinic = :clinic and plan_id = :plan order by matter",
            MatterRow.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("plan", planId)
        .list()
        .stream()
        .map(MatterRow::stored)
        .toList();
  }

  /** The matter that a Task was written for. */
  public Optional<StoredMatter> matterOfTask(String task) {
    return session
        .createNativeQuery(
            "select * from plan_matter where clinic = :clinic and task = :task", MatterRow.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("task", task)
        .uniqueResultOptional()
        .map(MatterRow::stored);
  }

  public void raise(StoredMatter matter) {
    session.insert(new MatterRow(ActingClinic.current(), matter));
  }

  public void update(StoredMatter matter) {
    session.update(new MatterRow(ActingClinic.current(), matter));
  }

  public void end(StoredMatter matter) {
    session.delete(new MatterRow(ActingClinic.current(), matter));
  }
}
