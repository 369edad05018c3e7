package org.tidemark.application;

import java.util.Set;

/**
 * A plan, or a record that tells of one, was written. It is told at the end of the transaction that
 * writes, within it.
 *
 * @param subjects the people whose plans they are, as normal references
 */
public record PlanWritten(Set<String> subjects) {
  /** The types of the records that tell of a plan. */
  static final Set<String> TYPES =
      Set.of("CarePlan", "DocumentReference", "Goal", "ServiceRequest");
}
