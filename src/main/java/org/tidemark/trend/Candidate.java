package org.tidemark.trend;

import org.hipparchus.linear.RealMatrix;
import org.tidemark.trend.LevelFilter.State;

/**
 * One of the sets of parameters that the readings allow. A few readings leave open how fast a gain
 * dies away, and the slope of today depends on it; so no single set is taken for true.
 *
 * @param filter the filter with these parameters
 * @param state level and slope at the newest reading under them
 * @param weight share of belief; those of all candidates add up to 1
 */
record Candidate(LevelFilter filter, State state, double weight) {

  DampedLevel model() {
    return filter.model();
  }

  /** Level and slope some weeks after the newest reading, 0 or more. */
  State after(double weeks) {
    double carry = model().carry(weeks);
    double left = model().slopeLeft(weeks);
    RealMatrix noise = model().noise(weeks);
    return new State(
        state.level() + carry * state.slope(),
        left * state.slope(),
        state.levelVariance()
            + 2 * carry * state.covariance()
            + carry * carry * state.slopeVariance()
            + noise.getEntry(0, 0),
        left * (state.covariance() + carry * state.slopeVariance()) + noise.getEntry(0, 1),
        left * left * state.slopeVariance() + noise.getEntry(1, 1));
  }

  /** Where the level is heading under these parameters. */
  double headingFor() {
    return state.level() + state.slope() * model().carryForEver();
  }

  /** Variance of that. */
  double headingVariance() {
    double carry = model().carryForEver();
    return state.levelVariance()
        + 2 * carry * state.covariance()
        + carry * carry * state.slopeVariance();
  }
}
