package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.ArrayList;
import java.util.List;
import java.util.OptionalDouble;
import java.util.Random;
import org.hipparchus.linear.CholeskyDecomposition;
import org.hipparchus.linear.RealMatrix;
import org.junit.jupiter.api.Test;
import org.tidemark.trend.Forecast.Arrival;

/**
 * Whether the intervals hold the truth as often as they say, on people who are as the model says
 * people are: parameters and first slopes drawn from the priors, eight weekly readings with a
 * goniometer, a goal 3 to 10 degrees on. The forecast does not know the parameters.
 */
class ForecastCoverageTest {
  private static final int PEOPLE = 1000;
  private static final int READINGS = 8;
  private static final double DAY = 1 / 7.0;
  private static final int DAYS = (int) (7 * Passage.HORIZON_WEEKS);
  private static final double ERROR = MeasuringMethod.GONIOMETER.standardErrorDegrees();

  @Test
  void intervalsHoldTheTruthAsOftenAsTheySay() {
    int levels = 0;
    int slopes = 0;
    int forecasts = 0;
    int arrivals = 0;
    for (int i = 0; i < PEOPLE; i++) {
      Knee knee = new Knee(new Random(i));
      Trend trend = knee.measured();
      levels += trend.level().holds(knee.level) ? 1 : 0;
      slopes += trend.slopePerWeek().holds(knee.slope) ? 1 : 0;
      double goal = knee.level + 3 + 7 * knee.random.nextDouble();
      if (Forecast.of(trend, goal) instanceof Arrival arrival) {
        forecasts++;
        arrivals += holds(arrival, knee.daysUntil(goal)) ? 1 : 0;
      }
    }
    within(ClopperPearson.of95(levels, PEOPLE), 0.94, 0.96);
    within(ClopperPearson.of95(slopes, PEOPLE), 0.94, 0.96);
    assertTrue(forecasts > PEOPLE / 10, "forecasts: " + forecasts);
    within(ClopperPearson.of95(arrivals, forecasts), 0.78, 0.82);
  }

  /** The share seen does not contradict a share from low to high. */
  private static void within(ClopperPearson seen, double low, double high) {
    assertTrue(seen.low() <= high && seen.high() >= low, seen.toString());
  }

  private static boolean holds(Arrival forecast, OptionalDouble days) {
    double arrived = days.orElse(Double.POSITIVE_INFINITY);
    return forecast.earliestDays() <= arrived
        && arrived <= forecast.latestDays().orElse(Double.POSITIVE_INFINITY);
  }

  /** A knee that moves by the model, day by day. */
  private static final class Knee {
    private final Random random;
    private final DampedLevel model;
    private final RealMatrix root;
    private double level = 60;
    private double slope;

    Knee(Random random) {
      this.random = random;
      slope = 3 * random.nextGaussian();
      TrendParameters parameters =
          TrendParameters.USUAL.times(
              Math.exp(TrendParameters.WANDER_SPREAD * random.nextGaussian()),
              Math.exp(TrendParameters.HALF_LIFE_SPREAD * random.nextGaussian()));
      model = parameters.model();
      root = new CholeskyDecomposition(model.noise(DAY), 1e-9, 1e-15).getL();
    }

    Trend measured() {
      List<Reading> readings = new ArrayList<>();
      for (int week = 0; week < READINGS; week++) {
        for (int day = 0; week > 0 && day < 7; day++) {
          live();
        }
        readings.add(
            Reading.of(
                Weekly.START.plusWeeks(week),
                level + ERROR * random.nextGaussian(),
                MeasuringMethod.GONIOMETER));
      }
      return Trend.of(RangeSeries.of(readings));
    }

    OptionalDouble daysUntil(double goal) {
      for (int day = 1; day <= DAYS; day++) {
        live();
        if (level >= goal) {
          return OptionalDouble.of(day);
        }
      }
      return OptionalDouble.empty();
    }

    private void live() {
      double first = random.nextGaussian();
      level += slope * model.carry(DAY) + root.getEntry(0, 0) * first;
      slope =
          slope * model.slopeLeft(DAY)
              + root.getEntry(1, 0) * first
              + root.getEntry(1, 1) * random.nextGaussian();
    }
  }
}
