package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.util.ArrayList;
import java.util.List;
import org.hipparchus.optim.InitialGuess;
import org.hipparchus.optim.MaxEval;
import org.hipparchus.optim.SimpleValueChecker;
import org.hipparchus.optim.nonlinear.scalar.GoalType;
import org.hipparchus.optim.nonlinear.scalar.ObjectiveFunction;
import org.hipparchus.optim.nonlinear.scalar.noderiv.NelderMeadSimplex;
import org.hipparchus.optim.nonlinear.scalar.noderiv.SimplexOptimizer;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.trend.LevelFilter.Observed;
import org.tidemark.trend.LevelFilter.State;

/**
 * The filter without a slope is the local level model. Its variances for the Nile are 15099 and
 * 1469.1 (Durbin and Koopman 2012, §2.2.5); filtered states, likelihoods and widths with a first
 * level of 0 and its variance 10⁷ are computed from them, the log-likelihood without its first term
 * being the published -632.54421. With a first variance of 10¹⁰ it is that of the exact diffuse
 * start, -632.54563, which is largest at 15098.52 and 1469.18.
 */
class LocalLevelNileTest {
  private static final double READING_VARIANCE = 15099;
  private static final double LEVEL_VARIANCE = 1469.1;

  @ParameterizedTest(name = "year {0}: level {1}, variance {2}")
  @CsvSource({"1, 1118.31146, 15076.2364", "2, 1140.10844, 7894.5575", "100, 798.37029, 4032.1579"})
  void filtersTheLevel(int year, double level, double variance) {
    State state = pass(1e7).filtered().get(year - 1);
    assertEquals(level, state.level(), 5e-6);
    assertEquals(variance, state.levelVariance(), 5e-5);
  }

  @ParameterizedTest(name = "year {0}: level {1}")
  @CsvSource({"3, 1072.31602", "4, 1116.97477"})
  void filtersTheNextLevels(int year, double level) {
    assertEquals(level, pass(1e7).filtered().get(year - 1).level(), 5e-6);
  }

  @ParameterizedTest(name = "first variance {0}: {1}")
  @CsvSource({"1e7, -632.54421", "1e6, -632.5377", "1e10, -632.54563"})
  void hasTheLogLikelihoodWithoutItsFirstTerm(double firstVariance, double expected) {
    assertEquals(expected, pass(firstVariance).logLikelihood(), 2e-5);
  }

  @ParameterizedTest(name = "{0} years ahead: {1}")
  @CsvSource({"1, 281.31", "5, 318.92", "10, 360.45"})
  void widensAhead(int years, double halfWidth) {
    State last = pass(1e7).last();
    double level = last.levelVariance() + model().noise(years).getEntry(0, 0);
    assertEquals(halfWidth, 1.959964 * Math.sqrt(level + READING_VARIANCE), 0.01);
  }

  @Test
  void isMostLikelyAtThePublishedVariances() {
    double[] found =
        new SimplexOptimizer(new SimpleValueChecker(0, 1e-12))
            .optimize(
                new MaxEval(2000),
                new ObjectiveFunction(
                    logs -> pass(Math.exp(logs[0]), Math.exp(logs[1]), 1e10).logLikelihood()),
                GoalType.MAXIMIZE,
                new InitialGuess(new double[] {9, 8}),
                new NelderMeadSimplex(new double[] {1, 1}))
            .getPoint();
    assertEquals(15098.52, Math.exp(found[0]), 0.1);
    assertEquals(1469.18, Math.exp(found[1]), 0.1);
  }

  private static DampedLevel model() {
    return new DampedLevel(LEVEL_VARIANCE, 0, 1);
  }

  private static LevelFilter.Pass pass(double firstVariance) {
    return pass(READING_VARIANCE, LEVEL_VARIANCE, firstVariance);
  }

  private static LevelFilter.Pass pass(
      double readingVariance, double levelVariance, double firstVariance) {
    List<Observed> flows = new ArrayList<>();
    for (double flow : Nile.flows()) {
      flows.add(new Observed(flows.size(), flows.isEmpty() ? 0 : 1, flow, readingVariance));
    }
    return new LevelFilter(
            new DampedLevel(levelVariance, 0, 1), new State(0, 0, firstVariance, 0, 0))
        .pass(flows);
  }
}
