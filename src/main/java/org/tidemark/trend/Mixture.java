package org.tidemark.trend;

import java.util.List;
import java.util.function.Function;
import org.hipparchus.analysis.solvers.BrentSolver;
import org.hipparchus.special.Erf;
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

  /**
   * A normal distribution and its share.
   *
   * @param weight share; all add up to 1
   * @param mean mean
   * @param deviation standard deviation, more than 0
   */
  record Part(double weight, double mean, double deviation) {
    double below(double value) {
      return weight * Erf.erfc((mean - value) / (deviation * Math.sqrt(2))) / 2;
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

  /** Whether the interval lies within ±limit. */
  boolean isWithin(double limit) {
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
