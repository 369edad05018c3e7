package org.tidemark.trend;

import java.util.OptionalDouble;
import java.util.function.Function;

/** When a range will reach a goal: figures, or the reason why nothing can be said. */
public sealed interface Forecast {

  /**
   * When the underlying range first reaches the goal, in days after the newest reading. A single
   * reading may reach it earlier or later by the error of measuring.
   *
   * @param earliestDays one in ten arrives earlier than this
   * @param medianDays half arrive by then
   * @param latestDays nine in ten arrive by then; empty when fewer do within three years
   * @param chanceIn3Months share that arrives within 3 months, 0 to 1
   * @param chanceIn6Months within 6 months
   * @param chanceIn12Months within 12 months
   */
  record Arrival(
      double earliestDays,
      double medianDays,
      OptionalDouble latestDays,
      double chanceIn3Months,
      double chanceIn6Months,
      double chanceIn12Months)
      implements Forecast {
    @Override
    public <T> T match(Function<Arrival, T> arrival, Function<CannotBeForecast, T> cannot) {
      return arrival.apply(this);
    }
  }

  /**
   * No figure would be honest.
   *
   * @param reason why
   */
  record CannotBeForecast(Reason reason) implements Forecast {
    @Override
    public <T> T match(Function<Arrival, T> arrival, Function<CannotBeForecast, T> cannot) {
      return cannot.apply(this);
    }
  }

  /** Why no figure would be honest. The first that holds, in this order, is given. */
  enum Reason {
    /** The level is at the goal or beyond it. */
    ALREADY_REACHED("The range is at the goal already."),
    /** Fewer than 3 readings in line with each other. */
    TOO_FEW_READINGS("Fewer than three readings: a direction cannot be told yet."),
    /** The interval of the slope holds 0. */
    NO_CLEAR_DIRECTION("The readings do not show which way the range is going."),
    /** The slope more likely than not dies away before the goal, or leads away from it. */
    STOPS_SHORT("At the rate the range is moving now, it stops short of the goal.");

    private final String sentence;

    Reason(String sentence) {
      this.sentence = sentence;
    }

    /** The reason as a clinician could sign it. */
    public String sentence() {
      return sentence;
    }
  }

  /** Readings in line from which a direction can be told. */
  int LEAST_READINGS = 3;

  /** Share of the arrivals below the interval, and above it: 80 % are inside. */
  double TAIL = 0.1;

  double DAYS_PER_MONTH = 365.25 / 12;

  /** One answer for each kind of forecast. */
  <T> T match(Function<Arrival, T> arrival, Function<CannotBeForecast, T> cannot);

  /**
   * The forecast from a trend. The same readings and goal give the same forecast, on any machine.
   *
   * @param goalDegrees the angle to reach
   */
  static Forecast of(Trend trend, double goalDegrees) {
    int sign = trend.series().better().sign();
    double missing = sign * (goalDegrees - trend.levelNow().median());
    if (missing <= 0) {
      return new CannotBeForecast(Reason.ALREADY_REACHED);
    }
    if (trend.series().readings().size() - trend.outOfLine().size() < LEAST_READINGS) {
      return new CannotBeForecast(Reason.TOO_FEW_READINGS);
    }
    if (trend.slopePerWeek().holds(0)) {
      return new CannotBeForecast(Reason.NO_CLEAR_DIRECTION);
    }
    if (sign * (goalDegrees - trend.heading().median()) > 0) {
      return new CannotBeForecast(Reason.STOPS_SHORT);
    }
    Passage passage = Passage.simulate(trend, goalDegrees);
    OptionalDouble median = passage.daysUntil(0.5);
    if (median.isEmpty()) {
      return new CannotBeForecast(Reason.STOPS_SHORT);
    }
    return new Arrival(
        passage.daysUntil(TAIL).orElseThrow(),
        median.getAsDouble(),
        passage.daysUntil(1 - TAIL),
        passage.chanceWithin(3 * DAYS_PER_MONTH),
        passage.chanceWithin(6 * DAYS_PER_MONTH),
        passage.chanceWithin(12 * DAYS_PER_MONTH));
  }
}
