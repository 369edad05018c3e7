package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.util.Arrays;
import java.util.Map;
import java.util.function.Function;
import java.util.stream.Collectors;
import org.apache.commons.math3.stat.interval.ClopperPearsonInterval;
import org.hipparchus.distribution.continuous.NormalDistribution;
import org.hipparchus.distribution.continuous.TDistribution;
import org.hipparchus.stat.correlation.KendallsCorrelation;
import org.hipparchus.stat.descriptive.rank.Median;
import org.hipparchus.stat.interval.BinomialProportion;
import org.hipparchus.stat.interval.ConfidenceInterval;
import org.hipparchus.stat.regression.SimpleRegression;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/** The statistics library against published values, and against a second library. */
class PublishedStatisticsTest {
  private static final double[] NORRIS_X =
      numbers(
          ".2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 .4 .6 775.5 666.9 338.0"
              + " 447.5 11.6 556.0 228.1 995.8 887.6 120.2 .3 .3 556.8 339.1 887.2 999.0 779.0"
              + " 11.1 118.3 229.2 669.1 448.9 .5");
  private static final double[] NORRIS_Y =
      numbers(
          ".1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 .3 .1 778.1 668.8 339.3"
              + " 448.9 10.8 557.7 228.3 998.0 888.8 119.6 .3 .6 557.6 339.3 888.0 998.5 778.9"
              + " 10.2 117.6 228.9 668.4 449.2 .2");

  /** NIST Statistical Reference Datasets, linear regression, Norris: certified values. */
  @Test
  void norris() {
    SimpleRegression line = new SimpleRegression();
    for (int i = 0; i < NORRIS_X.length; i++) {
      line.addData(NORRIS_X[i], NORRIS_Y[i]);
    }
    certified(-0.262323073774029, line.getIntercept());
    certified(0.232818234301152, line.getInterceptStdErr());
    certified(1.00211681802045, line.getSlope());
    certified(0.000429796848199937, line.getSlopeStdErr());
    certified(0.999993745883712, line.getRSquare());
    certified(4255954.13232369, line.getRegressionSumSquares());
    certified(26.6173985294224, line.getSumSquaredErrors());
    certified(0.782864662630069, line.getMeanSquareError());
    certified(0.884796396144373, Math.sqrt(line.getMeanSquareError()));
    certified(5436385.54079785, line.getRegressionSumSquares() / line.getMeanSquareError());
    double n = NORRIS_X.length;
    double mean = Arrays.stream(NORRIS_X).average().orElseThrow();
    double spread =
        Math.sqrt(
            line.getMeanSquareError()
                * (1 + 1 / n + (500 - mean) * (500 - mean) / line.getXSumSquares()));
    double half = new TDistribution(n - 2).inverseCumulativeProbability(0.975) * spread;
    assertEquals(500.79608594, line.predict(500), 1e-8);
    assertEquals(498.97179405, line.predict(500) - half, 1e-8);
    assertEquals(502.62037782, line.predict(500) + half, 1e-8);
  }

  @Test
  void norrisInTheSecondLibrary() {
    var line = new org.apache.commons.math3.stat.regression.SimpleRegression();
    for (int i = 0; i < NORRIS_X.length; i++) {
      line.addData(NORRIS_X[i], NORRIS_Y[i]);
    }
    certified(-0.262323073774029, line.getIntercept());
    certified(0.232818234301152, line.getInterceptStdErr());
    certified(1.00211681802045, line.getSlope());
    certified(0.000429796848199937, line.getSlopeStdErr());
    certified(26.6173985294224, line.getSumSquaredErrors());
  }

  /**
   * Mann-Kendall and Theil-Sen on the flow of the Nile: S = -1387, its variance with ties
   * 112728.3333, z = -4.128067, p = 3.658e-5; slope -2.6 a year (two implementations agree).
   */
  @Test
  void mannKendallAndTheilSenOnTheNile() {
    double[] flows = Nile.flows();
    int n = flows.length;
    double[] slopes = new double[n * (n - 1) / 2];
    int score = 0;
    int pair = 0;
    for (int i = 0; i < n; i++) {
      for (int j = i + 1; j < n; j++) {
        score += (int) Math.signum(flows[j] - flows[i]);
        slopes[pair++] = (flows[j] - flows[i]) / (j - i);
      }
    }
    Map<Double, Long> tied =
        Arrays.stream(flows)
            .boxed()
            .collect(Collectors.groupingBy(Function.identity(), Collectors.counting()));
    double variance =
        (term(n) - tied.values().stream().mapToDouble(PublishedStatisticsTest::term).sum()) / 18;
    double z = (score + 1) / Math.sqrt(variance);
    assertEquals(-1387, score);
    assertEquals(112728.3333, variance, 1e-4);
    assertEquals(-4.128067, z, 1e-6);
    assertEquals(3.658e-5, 2 * new NormalDistribution().cumulativeProbability(z), 5e-9);
    assertEquals(-2.6, new Median().evaluate(slopes), 1e-9);

    double[] years = new double[n];
    Arrays.setAll(years, i -> i);
    double pairs = slopes.length;
    double tiedPairs = tied.values().stream().mapToDouble(t -> t * (t - 1) / 2.0).sum();
    double tau = score / Math.sqrt(pairs * (pairs - tiedPairs));
    assertEquals(tau, new KendallsCorrelation().correlation(years, flows), 1e-12);
    assertEquals(
        tau,
        new org.apache.commons.math3.stat.correlation.KendallsCorrelation()
            .correlation(years, flows),
        1e-12);
  }

  @Test
  void leastSquaresOnTheNile() {
    SimpleRegression line = new SimpleRegression();
    double[] flows = Nile.flows();
    for (int i = 0; i < flows.length; i++) {
      line.addData(i, flows[i]);
    }
    assertEquals(-2.714305, line.getSlope(), 5e-7);
    assertEquals(0.521554, line.getSlopeStdErr(), 5e-7);
  }

  /** Exact binomial limits, computed from the beta distribution (Clopper and Pearson 1934). */
  @ParameterizedTest(name = "{0} of {1}: {2} to {3}")
  @CsvSource({
    "0, 10, 0, .308497",
    "1, 10, .002529, .445016",
    "5, 10, .187086, .812914",
    "9, 10, .554984, .997471",
    "10, 10, .691503, 1",
    "0, 20, 0, .168433",
    "18, 20, .683017, .987651",
    "80, 100, .708157, .873344",
    "95, 100, .887165, .983568"
  })
  void clopperPearson(int hits, int trials, double low, double high) {
    ClopperPearson own = ClopperPearson.of95(hits, trials);
    assertEquals(low, own.low(), 5e-7);
    assertEquals(high, own.high(), 5e-7);
    if (hits > 0 && hits < trials) {
      ConfidenceInterval library =
          BinomialProportion.getClopperPearsonInterval(trials, (double) hits / trials, 0.95);
      assertEquals(low, library.getLowerBound(), 5e-7);
      assertEquals(high, library.getUpperBound(), 5e-7);
      var second = new ClopperPearsonInterval().createInterval(trials, hits, 0.95);
      assertEquals(low, second.getLowerBound(), 5e-7);
      assertEquals(high, second.getUpperBound(), 5e-7);
    }
  }

  private static double term(double n) {
    return n * (n - 1) * (2 * n + 5);
  }

  private static void certified(double expected, double found) {
    assertEquals(expected, found, Math.abs(expected) * 1e-10);
  }

  private static double[] numbers(String text) {
    return Arrays.stream(text.split(" ")).mapToDouble(Double::parseDouble).toArray();
  }
}
