package org.tidemark.cohort;

import java.util.Map;
import java.util.SplittableRandom;
import org.tidemark.programme.Equipment;
import org.tidemark.quantity.Value;

/**
 * An invented person.
 *
 * @param number which one of the cohort, from 0
 * @param seed where this person's luck comes from
 * @param known the baseline items that were assessed, by code
 * @param real the items as they really are, all of them
 * @param home what is at home at the start
 * @param traits the hidden knee
 * @param habits how the person goes about it
 */
record Person(
    int number,
    long seed,
    Map<String, Value> known,
    Map<String, Value> real,
    Equipment home,
    Traits traits,
    Habits habits) {

  Person painless() {
    return new Person(number, seed, known, real, home, traits.painless(), habits);
  }

  /** This person's luck on a day, the same whatever policy is followed. */
  Luck luck(int day) {
    return Luck.of(stream(1 + day));
  }

  /** A stream of random numbers for one matter of this person. */
  SplittableRandom stream(long matter) {
    return new SplittableRandom(seed * 0x9E3779B97F4A7C15L + matter * 0xC2B2AE3D27D4EB4FL);
  }
}
