package org.tidemark.trend;

import java.util.List;
import java.util.function.Function;
import org.apache.commons.numbers.gamma.Erfc;
import org.hipparchus.analysis.solvers.BrentSolver;
import org.tidemark.trend.LevelFilter.State;

/**
 * What the candidates together believe of one figure: a mixture of normal distributions.
 *
 * @param parts one for each candidate
 */
record Mixture(List<Part> parts) {
  private static final double ACCURACY = 1e-7;
  private static final int MOST_EVALUATIONS = 200;

  /** Standard deviations beyond which nothing is left. */
  private static final double FAR = 8;

  /** Share outside the interval on either side. */
  private static final double TAIL = 0.025;

  /** The same in standard deviations of a normal distribution. */
  private static final double TAIL_DEVIATIONS = 1.959963984540054;

  /**
   * A normal distribution and its share.
   *
   * @param weight share; all add up to 1
   * @param mean mean
   * @param deviation standard deviation, more than 0
   */
  record Part(double weight, double mean, double deviation) {
    double below(double value) {
      return weight * Erfc.value((mean - value) / (deviation * Math.sqrt(2))) / 2;
    }

    /** End of the interval that leaves 2.5 % below it. */
    double low() {
      return mean - TAIL_DEVIATIONS * deviation;
    }

    /** End of the interval that leaves 2.5 % above it. */
    double high() {
      return mean + TAIL_DEVIATIONS * deviation;
    }
  }

  static Mixture ofLevel(List<Candidate> candidates, Function<Candidate, State> state) {
    return new Mixture(
        candidates.stream()
            .map(c -> part(c, state.apply(c).level(), state.apply(c).levelVariance()))
            .toList());
  }

  static Mixture ofSlope(List<Candidate> candidates, Function<Candidate, State> state) {
    return new Mixture(
        candidates.stream()
            .map(c -> part(c, state.apply(c).slope(), state.apply(c).slopeVariance()))
            .toList());
  }

  static Mixture ofHeading(List<Candidate> candidates) {
    return new Mixture(
        candidates.stream().map(c -> part(c, c.headingFor(), c.headingVariance())).toList());
  }

  private static Part part(Candidate candidate, double mean, double variance) {
    return new Part(candidate.weight(), mean, Math.sqrt(variance));
  }

  /** The median with the interval that leaves 2.5 % on either side. */
  Interval interval() {
    return new Interval(quantile(TAIL), median(), quantile(1 - TAIL));
  }

  double median() {
    return quantile(0.5);
  }

  /**
   * Whether the interval lies within ±limit. Where the parts all say the same, so does the mixture,
   * and its distribution is not worked out.
   */
  boolean isWithin(double limit) {
    if (parts.stream().allMatch(part -> part.low() >= -limit && part.high() <= limit)) {
      return true;
    }
    if (parts.stream().allMatch(part -> part.low() < -limit)
        || parts.stream().allMatch(part -> part.high() > limit)) {
      return false;
    }
    return below(-limit) <= TAIL && below(limit) >= 1 - TAIL;
  }

  private double below(double value) {
    return parts.stream().mapToDouble(part -> part.below(value)).sum();
  }

  /** The value below which a share lies, between 0 and 1. */
  double quantile(double share) {
    double low =
        parts.stream().mapToDouble(p -> p.mean() - FAR * p.deviation()).min().orElseThrow();
    double high =
        parts.stream().mapToDouble(p -> p.mean() + FAR * p.deviation()).max().orElseThrow();
    return new BrentSolver(ACCURACY)
        .solve(MOST_EVALUATIONS, value -> below(value) - share, low, high);
  }
}
