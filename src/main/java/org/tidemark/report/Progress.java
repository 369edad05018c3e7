package org.tidemark.report;

import java.time.LocalDate;
import java.util.Comparator;
import java.util.List;
import java.util.Optional;
import java.util.OptionalDouble;
import org.tidemark.quantity.Unit;
import org.tidemark.response.Response;

/**
 * What a chart of a plan shows, each list in any order.
 *
 * @param readings the range as it was measured
 * @param mdc95 the change in degrees that measuring alone explains in 95 of 100 pairs of readings,
 *     more than 0; the band is drawn about the earliest reading. Empty: no band
 * @param trend the underlying range that was computed
 * @param forecast where it may go
 * @param goal the range that is aimed at, degrees
 * @param variable what a person calls the leading variable; blank where there is none
 * @param steps what the leading variable was set to, each value until the next
 * @param unit the unit of that variable
 * @param sessions the sessions with their responses
 * @param decisions what was decided, in words
 * @param precautions the periods in which a precaution held
 */
public record Progress(
    List<Reading> readings,
    OptionalDouble mdc95,
    List<Level> trend,
    List<Fan> forecast,
    OptionalDouble goal,
    String variable,
    List<Step> steps,
    Unit unit,
    List<Session> sessions,
    List<Note> decisions,
    List<Period> precautions) {
  public Progress {
    readings = List.copyOf(readings);
    trend = List.copyOf(trend);
    forecast = List.copyOf(forecast);
    steps = List.copyOf(steps);
    sessions = List.copyOf(sessions);
    decisions = List.copyOf(decisions);
    precautions = List.copyOf(precautions);
  }

  /** Whether there is anything to draw. */
  public boolean isEmpty() {
    return readings.isEmpty() && sessions.isEmpty() && decisions.isEmpty();
  }

  /** The same with the newest decisions alone. */
  public Progress newest(int many) {
    List<Note> newest =
        decisions.stream()
            .sorted(Comparator.comparing(Note::day))
            .skip(Math.max(0, decisions.size() - many))
            .toList();
    return new Progress(
        readings,
        mdc95,
        trend,
        forecast,
        goal,
        variable,
        steps,
        unit,
        sessions,
        newest,
        precautions);
  }

  /**
   * A measured range.
   *
   * @param degrees what was read
   * @param error how far the true range may lie from it on either side, degrees, 0 or more
   */
  public record Reading(LocalDate day, double degrees, double error) {}

  /** The underlying range on a day, degrees. */
  public record Level(LocalDate day, double degrees) {}

  /** Where the underlying range may be on a day: 8 in 10 between low and high, degrees. */
  public record Fan(LocalDate day, double low, double middle, double high) {}

  /** A value of the leading variable, from a day on. */
  public record Step(LocalDate day, double value) {}

  /** A session and how it went. */
  public record Session(LocalDate day, Response response) {}

  /** A decision in the reader's language. */
  public record Note(LocalDate day, String words) {}

  /**
   * A precaution in the reader's language.
   *
   * @param to its last day; empty while it has no end
   */
  public record Period(LocalDate from, Optional<LocalDate> to, String words) {}
}
