package org.tidemark.cohort;

import org.tidemark.quantity.PainScore;
import org.tidemark.response.Symptoms;

/**
 * What a session really felt like, whatever was reported of it.
 *
 * @param day the day of the session
 * @param during worst pain during it, whole points
 * @param after worst pain after it
 * @param contact whether contact was reached
 * @param load load over tolerance; below 1 it was tolerated
 */
record Felt(int day, int during, int after, boolean contact, double load) {

  /**
   * The symptoms with those of the morning after.
   *
   * @param stillWorse whether pain was above rest on the second morning too, with no session
   *     between
   */
  Symptoms with(int rest, Woken morning, boolean stillWorse) {
    return new Symptoms(
        PainScore.of(rest),
        java.util.Optional.of(PainScore.of(during)),
        java.util.Optional.of(PainScore.of(after)),
        java.util.Optional.of(PainScore.of(morning.pain())),
        morning.swollen(),
        morning.unwilling(),
        stillWorse,
        false);
  }
}
