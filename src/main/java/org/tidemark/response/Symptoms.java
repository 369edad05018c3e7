package org.tidemark.response;

import java.util.Optional;
import org.tidemark.quantity.PainScore;

/**
 * What is known of how the limb took a session. What was not answered is empty, never 0.
 *
 * @param rest pain at rest, the level to compare with
 * @param during worst pain during the session
 * @param after worst pain within two hours after it
 * @param morning pain the next morning
 * @param moreSwollen whether there is more swelling than usual, by the person's word or by a grade
 *     of effusion
 * @param unwilling whether the person would not gladly repeat it the next morning
 * @param stillWorse whether pain is still above rest more than 24 hours later
 * @param risingWeekly whether morning pain has risen from one week to the next
 */
public record Symptoms(
    PainScore rest,
    Optional<PainScore> during,
    Optional<PainScore> after,
    Optional<PainScore> morning,
    boolean moreSwollen,
    boolean unwilling,
    boolean stillWorse,
    boolean risingWeekly) {

  boolean complete() {
    return during.isPresent() && after.isPresent() && morning.isPresent();
  }

  boolean anyAboveRest() {
    return during.filter(pain -> pain.isAbove(rest)).isPresent()
        || after.filter(pain -> pain.isAbove(rest)).isPresent()
        || morningAboveRest();
  }

  boolean morningAboveRest() {
    return morning.filter(pain -> pain.isAbove(rest)).isPresent();
  }

  boolean duringOrAfterAbove(PainScore limit) {
    return during.filter(pain -> pain.isAbove(limit)).isPresent()
        || after.filter(pain -> pain.isAbove(limit)).isPresent();
  }
}
