package org.tidemark.decision;

import java.util.List;
import java.util.Optional;
import org.tidemark.decision.PlanState.Angle;
import org.tidemark.programme.Direction;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.trend.Forecast;
import org.tidemark.trend.Plateau;
import org.tidemark.trend.RangeSeries;
import org.tidemark.trend.RangeSeries.Better;
import org.tidemark.trend.Reading;
import org.tidemark.trend.Trend;

/**
 * How a range of the body has gone and where it leads, as of its newest reading.
 *
 * @param goal the goal that it is measured for
 * @param trend where it stands and where it is going
 * @param forecast when it reaches the goal; empty while the value to reach is not known
 * @param plateau since when it has stood still, if it has
 * @param sources where its readings were read, earliest first
 */
public record RangeCourse(
    GoalReading goal,
    Trend trend,
    Optional<Forecast> forecast,
    Optional<Plateau> plateau,
    List<FactSource> sources) {

  /**
   * Reads the course of the range that a goal is about. The same plan gives the same answer.
   *
   * @return empty when the goal is not about an angle of the body, or it was never read
   */
  public static Optional<RangeCourse> read(GoalDefinition definition, PlanState state) {
    GoalReading goal = GoalReading.read(definition, state);
    return series(definition, state.person())
        .map(
            series -> {
              Trend trend = Trend.of(series);
              Optional<Forecast> forecast =
                  goal.target()
                      .map(GoalReading.Target::value)
                      .filter(RangeCourse::isAngle)
                      .map(value -> Forecast.of(trend, ((Amount) value).value().doubleValue()));
              return new RangeCourse(
                  goal,
                  trend,
                  forecast,
                  Plateau.find(trend),
                  angles(definition, state.person()).stream()
                      .map(Angle::source)
                      .distinct()
                      .toList());
            });
  }

  /**
   * What a course is read from: while it is the same, so is the course. Empty when there is none.
   */
  public static Optional<String> from(GoalDefinition definition, PlanState state) {
    List<Angle> angles = angles(definition, state.person());
    return angles.isEmpty()
        ? Optional.empty()
        : Optional.of(angles + "/" + GoalReading.read(definition, state).target());
  }

  /** The readings that a goal is about; empty when there are none or it is about something else. */
  static Optional<RangeSeries> series(GoalDefinition goal, PlanState.Person person) {
    List<Reading> readings = angles(goal, person).stream().map(Angle::reading).toList();
    Better better = goal.direction() == Direction.INCREASE ? Better.HIGHER : Better.LOWER;
    return readings.isEmpty() ? Optional.empty() : Optional.of(new RangeSeries(readings, better));
  }

  private static List<Angle> angles(GoalDefinition goal, PlanState.Person person) {
    return goal.of() == GoalDefinition.Kind.BODY
        ? person.angles().getOrDefault(goal.measure(), List.of())
        : List.of();
  }

  /** The figures of it, as they are kept and told. */
  public RangeFigures figures() {
    return new RangeFigures(
        goal.goal().code(),
        trend.at(),
        trend.level(),
        trend.slopePerWeek(),
        trend.change(),
        trend.outOfLine().size(),
        plateau.map(Plateau::since));
  }

  private static boolean isAngle(Object value) {
    return value instanceof Amount amount && amount.unit() == Unit.DEGREE;
  }
}
