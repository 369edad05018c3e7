package org.tidemark.load;

import java.util.List;
import java.util.Set;

/**
 * A line of a file, which is stored whole or not at all.
 *
 * @param place where it stands
 * @param bytes its length, with its end
 * @param about whose it is, empty for what is about nobody or about several
 * @param entries what is sent of it, entries of a transaction as JSON
 * @param writes what they write, such as {@code Observation/7}, or {@code Patient?identifier=x} for
 *     what is created unless it is there
 */
record Unit(Place place, long bytes, String about, List<String> entries, Set<String> writes) {

  /** The addresses that it writes to, where these are known before. */
  List<String> addresses() {
    return writes.stream().filter(each -> !each.contains("?")).toList();
  }

  /**
   * Where a line stands.
   *
   * @param file the number of its file, from 0
   * @param line its number there, from 1
   */
  record Place(int file, long line) {}
}
