package org.tidemark.trend;

import java.util.ArrayList;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import org.hipparchus.filtering.kalman.KalmanSmoother;
import org.hipparchus.filtering.kalman.Measurement;
import org.hipparchus.filtering.kalman.ProcessEstimate;
import org.hipparchus.filtering.kalman.linear.LinearEvolution;
import org.hipparchus.filtering.kalman.linear.LinearKalmanFilter;
import org.hipparchus.linear.Array2DRowRealMatrix;
import org.hipparchus.linear.ArrayRealVector;
import org.hipparchus.linear.MatrixDecomposer;
import org.hipparchus.linear.QRDecomposer;
import org.hipparchus.linear.RealMatrix;
import org.hipparchus.linear.RealVector;
import org.hipparchus.util.FastMath;

/**
 * The Kalman filter of a {@link DampedLevel} over readings at any times. Time has the unit of the
 * model.
 *
 * @param model how the level moves
 * @param start level and slope before the first reading, at its time
 */
record LevelFilter(DampedLevel model, State start) {
  private static final RealMatrix READS_THE_LEVEL =
      new Array2DRowRealMatrix(new double[][] {{1, 0}}, false);

  /** Below this a covariance counts as singular; the smallest in use is above 1e-4. */
  private static final MatrixDecomposer DECOMPOSER = new QRDecomposer(1e-12);

  private static final double LOG_2_PI = FastMath.log(2 * Math.PI);

  /**
   * Level and slope with their covariance.
   *
   * @param level the level
   * @param slope the slope, in levels per unit of time
   * @param levelVariance variance of the level
   * @param covariance covariance of level and slope
   * @param slopeVariance variance of the slope
   */
  record State(
      double level, double slope, double levelVariance, double covariance, double slopeVariance) {

    private static State of(ProcessEstimate estimate) {
      RealVector mean = estimate.getState();
      RealMatrix spread = estimate.getCovariance();
      return new State(
          mean.getEntry(0),
          mean.getEntry(1),
          spread.getEntry(0, 0),
          spread.getEntry(0, 1),
          spread.getEntry(1, 1));
    }

    private ProcessEstimate at(double time) {
      return new ProcessEstimate(
          time,
          new ArrayRealVector(new double[] {level, slope}, false),
          new Array2DRowRealMatrix(
              new double[][] {{levelVariance, covariance}, {covariance, slopeVariance}}, false));
    }
  }

  /**
   * A reading as the filter sees it.
   *
   * @param time when, not before the reading before it
   * @param gap time since the reading before it, 0 for the first
   * @param value the level read
   * @param variance variance of the error of reading, more than 0
   */
  record Observed(double time, double gap, double value, double variance) implements Measurement {
    @Override
    public double getTime() {
      return time;
    }

    @Override
    public RealVector getValue() {
      return new ArrayRealVector(1, value);
    }

    @Override
    public RealMatrix getCovariance() {
      return new Array2DRowRealMatrix(new double[][] {{variance}}, false);
    }
  }

  /**
   * What the filter makes of the readings.
   *
   * @param filtered the state after each reading, from that and the earlier ones
   * @param logLikelihood log of the density of the readings, without the first: its density says
   *     how wide the start was and nothing about the model
   */
  record Pass(List<State> filtered, double logLikelihood) {
    State last() {
      return filtered.get(filtered.size() - 1);
    }
  }

  /** Goes through the readings once. */
  Pass pass(List<Observed> readings) {
    LinearKalmanFilter<Observed> filter = filter(readings);
    List<State> filtered = new ArrayList<>(readings.size());
    double logLikelihood = 0;
    for (Observed reading : readings) {
      filtered.add(State.of(filter.estimationStep(reading)));
      if (filtered.size() > 1) {
        ProcessEstimate predicted = filter.getPredicted();
        double surprise = reading.value() - predicted.getState().getEntry(0);
        double spread = predicted.getCovariance().getEntry(0, 0) + reading.variance();
        logLikelihood -= (LOG_2_PI + FastMath.log(spread) + surprise * surprise / spread) / 2;
      }
    }
    return new Pass(filtered, logLikelihood);
  }

  /** The state at each reading, from all of them. */
  List<State> smooth(List<Observed> readings) {
    LinearKalmanFilter<Observed> filter = filter(readings);
    KalmanSmoother smoother = new KalmanSmoother(DECOMPOSER);
    filter.setObserver(smoother);
    readings.forEach(filter::estimationStep);
    List<State> states =
        new ArrayList<>(smoother.backwardsSmooth().stream().map(State::of).toList());
    states.remove(0);
    return states;
  }

  private LinearKalmanFilter<Observed> filter(List<Observed> readings) {
    Map<Double, LinearEvolution> byGap = new HashMap<>();
    return new LinearKalmanFilter<>(
        DECOMPOSER,
        reading -> byGap.computeIfAbsent(reading.gap(), this::evolution),
        start.at(readings.get(0).time()));
  }

  private LinearEvolution evolution(double gap) {
    return new LinearEvolution(
        model.transition(gap), null, null, model.noise(gap), READS_THE_LEVEL);
  }
}
