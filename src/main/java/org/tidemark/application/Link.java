package org.tidemark.application;

import java.util.Set;

/**
 * A reference that a search follows, to bring along what it leads to or what it comes from.
 *
 * @param source the type of the records that refer
 * @param parameter the search parameter that finds the reference
 * @param targets the types of the records that it may lead to
 */
record Link(String source, String parameter, Set<String> targets) {
  /** Whether the reference is kept in the record's own row and not in the index. */
  boolean isSubject() {
    return IndexedRecord.isSubject(source, parameter);
  }
}
