package org.tidemark.store;

import java.util.ArrayList;
import java.util.HashSet;
import java.util.List;
import java.util.Set;
import java.util.function.Consumer;

/**
 * New records of a transaction that are not in their tables yet: the rows of all of them are
 * written table by table, each in one message to the database instead of one for each record.
 */
final class Unwritten {
  private final Set<CurrentRow.Key> keys = new HashSet<>();
  private final List<List<Object>> tables = new ArrayList<>();

  /**
   * Adds a record.
   *
   * @param row its row
   * @param index the rows that it is found by, for each table a list, always in the same order
   */
  void add(CurrentRow row, List<List<Object>> index) {
    keys.add(new CurrentRow.Key(row.clinic, row.type, row.id));
    add(0, List.of(row));
    for (int i = 0; i < index.size(); i++) {
      add(i + 1, index.get(i));
    }
  }

  private void add(int table, List<?> rows) {
    while (tables.size() <= table) {
      tables.add(new ArrayList<>());
    }
    tables.get(table).addAll(rows);
  }

  /** Whether this record is among them. */
  boolean holds(String clinic, String type, String id) {
    return keys.contains(new CurrentRow.Key(clinic, type, id));
  }

  /**
   * Gives all rows away, the records' first, and has none afterwards.
   *
   * @param insert writes rows of one table
   */
  void drain(Consumer<List<Object>> insert) {
    List<List<Object>> rows = List.copyOf(tables);
    tables.clear();
    keys.clear();
    rows.stream().filter(table -> !table.isEmpty()).forEach(insert);
  }
}
