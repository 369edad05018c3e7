package org.tidemark.trend;

import java.util.ArrayList;
import java.util.List;
import org.hipparchus.optim.InitialGuess;
import org.hipparchus.optim.MaxEval;
import org.hipparchus.optim.SimpleValueChecker;
import org.hipparchus.optim.nonlinear.scalar.GoalType;
import org.hipparchus.optim.nonlinear.scalar.ObjectiveFunction;
import org.hipparchus.optim.nonlinear.scalar.noderiv.NelderMeadSimplex;
import org.hipparchus.optim.nonlinear.scalar.noderiv.SimplexOptimizer;
import org.hipparchus.util.FastMath;
import org.tidemark.trend.LevelFilter.Observed;
import org.tidemark.trend.LevelFilter.Pass;

/**
 * Parameters by maximum likelihood, with the priors and bounds of {@link TrendParameters}.
 *
 * @param readings in order, time in weeks
 * @param middle a level in the midst of the readings
 */
record LikelihoodFit(List<Observed> readings, double middle) {
  /** Enough for any series: the search ends after some 40. */
  private static final int MOST_EVALUATIONS = 400;

  /** Difference in log-likelihood that says nothing about which parameters are better. */
  private static final double LIKELIHOOD_TOLERANCE = 1e-3;

  /** First steps of the search, in logarithms. */
  private static final double[] FIRST_STEPS = {0.7, 0.5};

  /** Nodes of the Gauss-Hermite rule of three points, in standard deviations. */
  private static final double[] NODES = {-FastMath.sqrt(3), 0, FastMath.sqrt(3)};

  /** Its weights. */
  private static final double[] NODE_WEIGHTS = {1 / 6.0, 2 / 3.0, 1 / 6.0};

  /**
   * The most likely parameters. A point outside the bounds counts as the nearest inside, and the
   * prior keeps the search from running away there.
   */
  TrendParameters best() {
    TrendParameters usual = TrendParameters.USUAL;
    long times = readings.stream().mapToDouble(Observed::time).distinct().count();
    if (times < TrendParameters.FITTED_FROM) {
      return usual;
    }
    double[] found =
        new SimplexOptimizer(new SimpleValueChecker(0, LIKELIHOOD_TOLERANCE))
            .optimize(
                new MaxEval(MOST_EVALUATIONS),
                new ObjectiveFunction(this::logPosterior),
                GoalType.MAXIMIZE,
                new InitialGuess(
                    new double[] {
                      FastMath.log(usual.wanderPerRootWeek()), FastMath.log(usual.halfLifeWeeks())
                    }),
                new NelderMeadSimplex(FIRST_STEPS))
            .getPointRef();
    return at(found);
  }

  /**
   * The candidates around the most likely parameters: three by three, as far apart as the priors
   * say, each weighed by prior and likelihood (Gauss-Hermite quadrature with the prior's spread as
   * its scale).
   */
  List<Candidate> candidates(TrendParameters best) {
    List<Candidate> byLogWeight = new ArrayList<>();
    double most = Double.NEGATIVE_INFINITY;
    for (int w = 0; w < NODES.length; w++) {
      for (int h = 0; h < NODES.length; h++) {
        TrendParameters parameters =
            best.times(
                FastMath.exp(NODES[w] * TrendParameters.WANDER_SPREAD),
                FastMath.exp(NODES[h] * TrendParameters.HALF_LIFE_SPREAD));
        LevelFilter filter = parameters.filter(middle);
        Pass pass = filter.pass(readings);
        double logWeight =
            pass.logLikelihood()
                + parameters.logPrior()
                + FastMath.log(NODE_WEIGHTS[w] * NODE_WEIGHTS[h])
                + (NODES[w] * NODES[w] + NODES[h] * NODES[h]) / 2;
        byLogWeight.add(new Candidate(filter, pass.last(), logWeight));
        most = Math.max(most, logWeight);
      }
    }
    return scaled(byLogWeight, most);
  }

  private static List<Candidate> scaled(List<Candidate> byLogWeight, double most) {
    double sum = byLogWeight.stream().mapToDouble(c -> FastMath.exp(c.weight() - most)).sum();
    return byLogWeight.stream()
        .map(c -> new Candidate(c.filter(), c.state(), FastMath.exp(c.weight() - most) / sum))
        .toList();
  }

  private double logPosterior(double[] logarithms) {
    TrendParameters parameters = at(logarithms);
    double outside =
        Math.abs(logarithms[0] - FastMath.log(parameters.wanderPerRootWeek()))
            + Math.abs(logarithms[1] - FastMath.log(parameters.halfLifeWeeks()));
    return parameters.filter(middle).pass(readings).logLikelihood()
        + parameters.logPrior()
        - outside;
  }

  private static TrendParameters at(double[] logarithms) {
    return TrendParameters.fitted(FastMath.exp(logarithms[0]), FastMath.exp(logarithms[1]));
  }
}
