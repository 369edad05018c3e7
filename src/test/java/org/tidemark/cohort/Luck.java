package org.tidemark.cohort;

import java.util.SplittableRandom;

/**
 * The chances of one person's day.
 *
 * @param tolerance deviate of the day's tolerance, standard normal
 * @param range deviate of the wandering of range
 * @param depth deviate of how deep the day's movement goes
 * @param painNoise deviates of the pain during, after and the next morning
 * @param reading deviate of a measurement of range
 * @param gap deviate of a measurement of the gap
 * @param session 0 to 1: whether the session is done
 * @param answers whether the morning is answered
 * @param drops whether the person drops out
 * @param leaves whether a time away begins, and how long it lasts
 * @param stalls whether a stall of range begins, and how long it lasts
 * @param badDay whether daily life irritates, and how much
 * @param stray whether a stray pain comes
 * @param swells whether an overload swells
 * @param unwilling whether a sore person says so
 */
record Luck(
    double tolerance,
    double range,
    double depth,
    double[] painNoise,
    double reading,
    double gap,
    double session,
    double answers,
    double drops,
    double[] leaves,
    double[] stalls,
    double[] badDay,
    double stray,
    double swells,
    double unwilling) {

  static Luck of(SplittableRandom random) {
    return new Luck(
        random.nextGaussian(),
        random.nextGaussian(),
        random.nextGaussian(),
        new double[] {random.nextGaussian(), random.nextGaussian(), random.nextGaussian()},
        random.nextGaussian(),
        random.nextGaussian(),
        random.nextDouble(),
        random.nextDouble(),
        random.nextDouble(),
        new double[] {random.nextDouble(), random.nextDouble()},
        new double[] {random.nextDouble(), random.nextDouble()},
        new double[] {random.nextDouble(), random.nextDouble()},
        random.nextDouble(),
        random.nextDouble(),
        random.nextDouble());
  }
}
