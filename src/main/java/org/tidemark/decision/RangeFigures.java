package org.tidemark.decision;

import java.time.OffsetDateTime;
import java.util.Optional;
import org.tidemark.trend.Interval;
import org.tidemark.trend.RangeChange;

/**
 * The figures of how a range has gone.
 *
 * @param goal the code of the goal that it is measured for
 * @param at time of the newest reading
 * @param level the range in degrees, freed of the error of measuring, with its 95 % interval
 * @param slopePerWeek how fast it changes, in degrees a week, with its 95 % interval
 * @param change the newest readings against the first, held against the error of measuring
 * @param outOfLine how many readings hardly count, as the others contradict them
 * @param stillSince since when it has stood still, if it has
 */
public record RangeFigures(
    String goal,
    OffsetDateTime at,
    Interval level,
    Interval slopePerWeek,
    RangeChange change,
    int outOfLine,
    Optional<OffsetDateTime> stillSince) {}
