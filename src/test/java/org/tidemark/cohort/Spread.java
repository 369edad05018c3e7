package org.tidemark.cohort;

import java.util.Locale;
import java.util.random.RandomGenerator;

/**
 * How a figure is spread over people.
 *
 * @param kind the form of the spread
 * @param first mean, median, least value or the value itself, by the kind
 * @param second standard deviation, standard deviation of the logarithm, or greatest value; 0 where
 *     the kind has none
 */
record Spread(Kind kind, double first, double second) {

  /** The form of a spread. */
  enum Kind {
    /** Mean and standard deviation, cut at three deviations. */
    NORMAL,
    /** Median and standard deviation of the logarithm, cut at three deviations. */
    LOGNORMAL,
    /** Even between two ends. */
    EVEN,
    /** The same for everyone. */
    FIXED
  }

  private static final double MOST_DEVIATIONS = 3;

  static Spread normal(double mean, double deviation) {
    return new Spread(Kind.NORMAL, mean, deviation);
  }

  static Spread lognormal(double median, double deviation) {
    return new Spread(Kind.LOGNORMAL, median, deviation);
  }

  static Spread even(double least, double most) {
    return new Spread(Kind.EVEN, least, most);
  }

  static Spread fixed(double value) {
    return new Spread(Kind.FIXED, value, 0);
  }

  double draw(RandomGenerator random) {
    return switch (kind) {
      case NORMAL -> first + second * deviate(random);
      case LOGNORMAL -> first * Math.exp(second * deviate(random));
      case EVEN -> first + (second - first) * random.nextDouble();
      case FIXED -> first;
    };
  }

  private static double deviate(RandomGenerator random) {
    double deviate = random.nextGaussian();
    return Math.max(-MOST_DEVIATIONS, Math.min(MOST_DEVIATIONS, deviate));
  }

  /** In words, such as {@code 175.6 ± 6.9}. */
  String words() {
    return switch (kind) {
      case NORMAL -> number(first) + " ± " + number(second);
      case LOGNORMAL ->
          "median "
              + number(first)
              + ", two thirds of people "
              + number(first * Math.exp(-second))
              + " to "
              + number(first * Math.exp(second));
      case EVEN -> number(first) + " to " + number(second) + ", evenly";
      case FIXED -> number(first);
    };
  }

  private static String number(double value) {
    String text = String.format(Locale.ROOT, Math.abs(value) < 0.1 ? "%.4f" : "%.2f", value);
    return text.contains(".") ? text.replaceAll("0+$", "").replaceAll("\\.$", "") : text;
  }
}
