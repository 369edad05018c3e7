package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.sql.Connection;
import java.sql.PreparedStatement;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.OptionalLong;
import java.util.stream.Collectors;
import org.hibernate.StatelessSession;
import org.tidemark.clinic.ActingClinic;

/**
 * Keeps the audit trail. An entry comes in by {@link #add}, with the caller's transaction and
 * without waiting for another; {@link #chain} gives entries their places one after the other, under
 * a lock that all instances share. Every method joins the caller's transaction.
 */
@ApplicationScoped
public class AuditStore {
  private static final List<String> COLUMNS =
      List.of(
          "recorded_ms",
          "interaction",
          "action",
          "outcome",
          "status",
          "client",
          "user_ref",
          "address",
          "request_id",
          "entity",
          "entity_version",
          "patient",
          "asked");
  private static final String ENTRY = String.join(", ", COLUMNS);
  private static final String ADD =
      "insert into audit_inbox (clinic, id, " + ENTRY + ") values (" + places(2) + ")";
  private static final String APPEND =
      "insert into audit_event (clinic, seq, hash, " + ENTRY + ") values (" + places(3) + ")";

  private final StatelessSession session;

  AuditStore(StatelessSession session) {
    this.session = session;
  }

  /**
   * Where the chain ends.
   *
   * @param seq the number of the last link; 0 for none
   * @param hash its hash
   * @param removedSeq the number of the last link that retention has removed; 0 for none
   * @param removedHash its hash
   */
  public record Head(long seq, String hash, long removedSeq, String removedHash) {
    private static final Head EMPTY = new Head(0, AuditLink.NOTHING, 0, AuditLink.NOTHING);
  }

  private static String places(int before) {
    return "?" + ", ?".repeat(before + COLUMNS.size() - 1);
  }

  /** Takes entries in; they are kept when the transaction is. */
  public void add(List<AuditEntry> entries) {
    session.doWork(
        connection -> {
          try (PreparedStatement insert = connection.prepareStatement(ADD)) {
            for (AuditEntry entry : entries) {
              set(insert, List.of(ActingClinic.current(), ResourceStore.newId()), entry.values());
              insert.addBatch();
            }
            insert.executeBatch();
          }
        });
  }

  /** Whether entries wait for their place. */
  public boolean isWaiting() {
    return session.doReturningWork(connection -> !waiting(connection, 1).isEmpty());
  }

  /**
   * Gives entries their places: those that were taken in, then others.
   *
   * @param others entries that were not taken in before
   * @param most how many of those that were taken in, at the most
   * @return how many of those there were
   */
  public int chain(List<AuditEntry> others, int most) {
    return session.doReturningWork(
        connection -> {
          Head head = locked(connection);
          List<Waiting> waiting = waiting(connection, most);
          List<AuditEntry> entries = new ArrayList<>();
          waiting.forEach(row -> entries.add(row.entry()));
          entries.addAll(others);
          append(connection, head, entries);
          remove(connection, waiting);
          return waiting.size();
        });
  }

  private record Waiting(String id, AuditEntry entry) {}

  private List<Waiting> waiting(Connection connection, int most) throws SQLException {
    String select =
        "select id, " + ENTRY + " from audit_inbox where clinic = ? order by clinic, id limit ?";
    return rows(
        connection,
        select,
        List.of(ActingClinic.current(), most),
        row -> new Waiting(row.getString(1), entry(row)));
  }

  private void remove(Connection connection, List<Waiting> rows) throws SQLException {
    String delete = "delete from audit_inbox where clinic = ? and id = ?";
    try (PreparedStatement statement = connection.prepareStatement(delete)) {
      for (Waiting row : rows) {
        set(statement, List.of(ActingClinic.current(), row.id()), List.of());
        statement.addBatch();
      }
      statement.executeBatch();
    }
  }

  private void append(Connection connection, Head head, List<AuditEntry> entries)
      throws SQLException {
    long seq = head.seq();
    String hash = head.hash();
    try (PreparedStatement insert = connection.prepareStatement(APPEND)) {
      for (AuditEntry entry : entries) {
        AuditLink link = AuditLink.after(hash, ActingClinic.current(), ++seq, entry);
        hash = link.hash();
        set(insert, List.of(ActingClinic.current(), seq, hash), entry.values());
        insert.addBatch();
      }
      insert.executeBatch();
    }
    keep(connection, new Head(seq, hash, head.removedSeq(), head.removedHash()));
  }

  /** Where the chain ends. */
  public Head head() {
    return session.doReturningWork(connection -> head(connection, "").orElse(Head.EMPTY));
  }

  private Head locked(Connection connection) throws SQLException {
    Optional<Head> head = head(connection, " for update");
    if (head.isEmpty()) {
      execute(
          connection,
          "insert into audit_chain (clinic, seq, hash, removed_seq, removed_hash)"
              + " values (?, 0, '', 0, '')",
          List.of(ActingClinic.current()));
    }
    return head.orElse(Head.EMPTY);
  }

  private Optional<Head> head(Connection connection, String lock) throws SQLException {
    return rows(
            connection,
            "select seq, hash, removed_seq, removed_hash from audit_chain where clinic = ?" + lock,
            List.of(ActingClinic.current()),
            row -> new Head(row.getLong(1), row.getString(2), row.getLong(3), row.getString(4)))
        .stream()
        .findFirst();
  }

  private void keep(Connection connection, Head head) throws SQLException {
    execute(
        connection,
        "update audit_chain set seq = ?, hash = ?, removed_seq = ?, removed_hash = ?"
            + " where clinic = ?",
        List.of(
            head.seq(),
            head.hash(),
            head.removedSeq(),
            head.removedHash(),
            ActingClinic.current()));
  }

  /**
   * Links in their order.
   *
   * @param after the number of the link before the first
   */
  public List<AuditLink> from(long after, int most) {
    return search(new AuditQuery(List.of(), true, OptionalLong.of(after), most));
  }

  /**
   * The first of some links that does not follow the one before it: it was changed or put in, or
   * one before it was taken away.
   *
   * @param before the hash of the link before the first
   * @param seq the number of the first
   */
  public Optional<Long> broken(String before, long seq, List<AuditLink> links) {
    String hash = before;
    long expected = seq;
    for (AuditLink link : links) {
      if (link.seq() != expected || !link.follows(hash, ActingClinic.current())) {
        return Optional.of(expected);
      }
      hash = link.hash();
      expected++;
    }
    return Optional.empty();
  }

  /** The links that a search finds. */
  public List<AuditLink> search(AuditQuery query) {
    List<Object> values = new ArrayList<>(List.of(ActingClinic.current()));
    StringBuilder sql =
        new StringBuilder("select seq, " + ENTRY + ", hash from audit_event where clinic = ?");
    query.criteria().forEach(one -> sql.append(" and ").append(condition(one, values)));
    query
        .after()
        .ifPresent(
            seq -> {
              sql.append(query.upwards() ? " and seq > ?" : " and seq < ?");
              values.add(seq);
            });
    String direction = query.upwards() ? "" : " desc";
    sql.append(" order by clinic").append(direction).append(", seq").append(direction);
    sql.append(" limit ?");
    values.add(query.limit());
    return session.doReturningWork(
        connection ->
            rows(
                connection,
                sql.toString(),
                values,
                row -> new AuditLink(row.getLong(1), entry(row), row.getString("hash"))));
  }

  private static String condition(AuditQuery.Criterion criterion, List<Object> values) {
    if (criterion instanceof AuditQuery.Is is) {
      values.add(is.value());
      return is.by().column() + " = ?";
    } else if (criterion instanceof AuditQuery.Version version) {
      values.add(version.number());
      return "entity_version = ?";
    } else if (criterion instanceof AuditQuery.Recorded recorded) {
      values.add(recorded.fromMs());
      values.add(recorded.toMs());
      return recorded.inside()
          ? "(recorded_ms >= ? and recorded_ms < ?)"
          : "(recorded_ms < ? or recorded_ms >= ?)";
    } else if (criterion instanceof AuditQuery.Both both) {
      return joined(both.all(), " and ", "1 = 1", values);
    }
    return joined(((AuditQuery.Either) criterion).any(), " or ", "1 = 0", values);
  }

  private static String joined(
      List<AuditQuery.Criterion> parts, String with, String none, List<Object> values) {
    return parts.isEmpty()
        ? none
        : parts.stream()
            .map(part -> condition(part, values))
            .collect(Collectors.joining(with, "(", ")"));
  }

  /**
   * Removes the oldest links of a time that is over, as far as they lie before all others.
   *
   * @param beforeMs only what was recorded before, ms since 1970 UTC
   * @param most how many at the most
   * @return how many were removed
   */
  public int remove(long beforeMs, int most) {
    return session.doReturningWork(
        connection -> {
          Head head = locked(connection);
          List<AuditLink> over =
              from(head.removedSeq(), most).stream()
                  .takeWhile(link -> link.entry().recordedMs() < beforeMs)
                  .toList();
          if (!over.isEmpty()) {
            AuditLink last = over.get(over.size() - 1);
            execute(
                connection,
                "delete from audit_event where clinic = ? and seq <= ?",
                List.of(ActingClinic.current(), last.seq()));
            keep(connection, new Head(head.seq(), head.hash(), last.seq(), last.hash()));
          }
          return over.size();
        });
  }

  // ---- rows ----

  private interface Row<T> {
    T read(ResultSet row) throws SQLException;
  }

  private static <T> List<T> rows(
      Connection connection, String sql, List<Object> values, Row<T> reader) throws SQLException {
    try (PreparedStatement select = connection.prepareStatement(sql)) {
      set(select, values, List.of());
      List<T> rows = new ArrayList<>();
      try (ResultSet found = select.executeQuery()) {
        while (found.next()) {
          rows.add(reader.read(found));
        }
      }
      return rows;
    }
  }

  private static void execute(Connection connection, String sql, List<Object> values)
      throws SQLException {
    try (PreparedStatement statement = connection.prepareStatement(sql)) {
      set(statement, values, List.of());
      statement.executeUpdate();
    }
  }

  private static void set(PreparedStatement statement, List<?> first, List<?> then)
      throws SQLException {
    int place = 1;
    for (Object value : first) {
      statement.setObject(place++, value);
    }
    for (Object value : then) {
      statement.setObject(place++, value);
    }
  }

  private static AuditEntry entry(ResultSet row) throws SQLException {
    return new AuditEntry(
        row.getLong("recorded_ms"),
        row.getString("interaction"),
        row.getString("action"),
        row.getString("outcome"),
        row.getInt("status"),
        row.getString("client"),
        row.getString("user_ref"),
        row.getString("address"),
        row.getString("request_id"),
        row.getString("entity"),
        row.getLong("entity_version"),
        row.getString("patient"),
        row.getString("asked"));
  }
}
