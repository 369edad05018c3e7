package org.tidemark.decision;

import java.time.OffsetDateTime;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.Prescription;

/**
 * One exercise of a plan as it stands.
 *
 * @param prescription what is asked
 * @param role what it is to its stage
 * @param since since when the plan has stood as it does, which is when its evidence began
 * @param changed when this exercise was last made harder or begun
 * @param answered answered sessions of it since then
 * @param unsettled how many sessions of the plan since then were not settled
 */
public record Line(
    Prescription prescription,
    Exercise.Role role,
    OffsetDateTime since,
    OffsetDateTime changed,
    int answered,
    int unsettled) {

  static Line begin(Prescription prescription, Exercise.Role role, OffsetDateTime at) {
    return new Line(prescription, role, at, at, 0, 0);
  }

  /** The same exercise with its evidence begun anew. */
  Line anew(OffsetDateTime at) {
    return new Line(prescription, role, at, changed, 0, 0);
  }

  /** The exercise set otherwise, its evidence begun anew. */
  Line set(Prescription other, OffsetDateTime at) {
    return new Line(other, role, at, at, 0, 0);
  }

  Line count(int moreAnswered, int moreUnsettled) {
    return new Line(
        prescription, role, since, changed, answered + moreAnswered, unsettled + moreUnsettled);
  }

  Evidence evidence() {
    return new Evidence(answered, Math.min(unsettled, answered));
  }
}
