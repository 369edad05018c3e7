package org.tidemark.application;

import java.util.List;
import java.util.Set;
import org.tidemark.store.Query;

/**
 * A search of a client.
 *
 * @param query which records, in which order, from where and how many
 * @param total when the number of all matches is told
 * @param forwards references of the records found that are followed
 * @param backwards references to the records found that are followed
 * @param ignored the parameters that are not obeyed
 */
record Search(
    Query query, Total total, Set<Link> forwards, Set<Link> backwards, List<Page.Ignored> ignored) {

  /** When the number of all matches is told. */
  enum Total {
    /** Never. */
    NONE,
    /** When it is known without counting. */
    FREE,
    /** Always. */
    COUNTED,
    /** Always, and nothing else. */
    ALONE
  }
}
