package org.tidemark.cohort;

import java.time.LocalDate;
import java.time.OffsetDateTime;
import java.time.ZoneOffset;
import java.util.ArrayList;
import java.util.EnumMap;
import java.util.List;
import java.util.Map;
import java.util.TreeMap;
import java.util.stream.IntStream;
import org.tidemark.programme.Programme;
import org.tidemark.quantity.Amount;
import org.tidemark.trend.ClopperPearson;
import org.tidemark.trend.Forecast;
import org.tidemark.trend.RangeSeries;
import org.tidemark.trend.Reading;
import org.tidemark.trend.Trend;

/**
 * Whether the 80 % interval of the forecast holds the day on which the hidden range of a person
 * first comes to the goal. Range here hangs on the days exercised and on nothing else, and nobody
 * drops out: who does is not lost from sight as a body. A forecast whose latest end is open holds
 * whoever arrives later than anyone was followed; one with a latest day does not.
 */
final class Coverage {
  /** After how many readings a forecast is made, the baseline's included. */
  static final List<Integer> READINGS = List.of(3, 4, 6, 8, 12, 16);

  /** People are followed as long after the last forecast as the forecast looks ahead. */
  private static final int FOLLOWED_DAYS = 3 * 366;

  private static final OffsetDateTime FIRST =
      LocalDate.of(2026, 1, 5).atTime(13, 0).atOffset(ZoneOffset.UTC);

  /** What became of the forecasts of one kind. */
  static final class Tally {
    private int inside;
    private int early;
    private int late;
    private int open;
    private int arrivedOfShort;
    private final Map<Forecast.Reason, Integer> cannot = new EnumMap<>(Forecast.Reason.class);

    /** Forecasts with an interval. */
    int made() {
      return inside + early + late;
    }

    int inside() {
      return inside;
    }

    /** Who arrived before the earliest day. */
    int early() {
      return early;
    }

    /** Who arrived after the latest day, or never. */
    int late() {
      return late;
    }

    /** Of those inside, who had not arrived at the end and whose interval is open. */
    int open() {
      return open;
    }

    Map<Forecast.Reason, Integer> cannot() {
      return cannot;
    }

    /** Of those said to stop short, who arrived within three years all the same. */
    int arrivedOfShort() {
      return arrivedOfShort;
    }

    ClopperPearson limits() {
      return ClopperPearson.of95(inside, made());
    }

    private void plus(Tally other) {
      inside += other.inside;
      early += other.early;
      late += other.late;
      open += other.open;
      arrivedOfShort += other.arrivedOfShort;
      other.cannot.forEach((reason, count) -> cannot.merge(reason, count, Integer::sum));
    }

    /**
     * Counts a forecast.
     *
     * @param arrival days until the goal was truly reached, infinite when it was not
     */
    void plus(Forecast forecast, double arrival) {
      forecast.match(
          made -> {
            double latest = made.latestDays().orElse(Double.POSITIVE_INFINITY);
            if (arrival < made.earliestDays()) {
              early++;
            } else if (arrival > latest) {
              late++;
            } else {
              inside++;
              open += Double.isInfinite(arrival) ? 1 : 0;
            }
            return made;
          },
          not -> {
            cannot.merge(not.reason(), 1, Integer::sum);
            boolean wrong = not.reason() == Forecast.Reason.STOPS_SHORT && Double.isFinite(arrival);
            arrivedOfShort += wrong ? 1 : 0;
            return not;
          });
    }
  }

  private Coverage() {}

  /**
   * By number of readings: what became of the forecasts.
   *
   * @param days days between readings; 0: as often as each person is measured
   */
  static Map<Integer, Tally> of(
      Programme programme, Scenario scenario, long seed, int number, int days) {
    List<Map<Integer, Tally>> each =
        IntStream.range(0, number)
            .parallel()
            .mapToObj(n -> of(programme, People.invent(seed, n, scenario), days))
            .toList();
    Map<Integer, Tally> all = new TreeMap<>();
    for (Map<Integer, Tally> one : each) {
      one.forEach((n, tally) -> all.computeIfAbsent(n, k -> new Tally()).plus(tally));
    }
    return all;
  }

  /** All forecasts together. */
  static Tally together(Map<Integer, Tally> byReadings) {
    Tally all = new Tally();
    byReadings.values().forEach(all::plus);
    return all;
  }

  private static Map<Integer, Tally> of(Programme programme, Person person, int days) {
    int between = days > 0 ? days : person.habits().visitDays();
    int last = READINGS.get(READINGS.size() - 1) * between;
    double[] path = path(programme, person, last + FOLLOWED_DAYS);
    double goal = Math.round(person.traits().contactAngle());
    Map<Integer, Tally> tallies = new TreeMap<>();
    if (goal <= path[0]) {
      return tallies;
    }
    List<Reading> readings = new ArrayList<>();
    readings.add(
        Reading.of(
            FIRST,
            ((Amount) person.known().get("comfortable-flexion")).value().doubleValue(),
            org.tidemark.trend.MeasuringMethod.GONIOMETER));
    for (int day = between; day < last; day += between) {
      double error = person.habits().method().standardErrorDegrees() * person.luck(day).reading();
      readings.add(
          Reading.of(FIRST.plusDays(day), Math.round(path[day] + error), person.habits().method()));
      if (READINGS.contains(readings.size())) {
        Forecast forecast = Forecast.of(Trend.of(RangeSeries.of(readings)), goal);
        tallies
            .computeIfAbsent(readings.size(), n -> new Tally())
            .plus(forecast, arrival(path, day, goal));
      }
    }
    return tallies;
  }

  /** Days after a day until the path first reached the goal; 0 where it had before. */
  private static double arrival(double[] path, int now, double goal) {
    for (int day = 0; day < path.length; day++) {
      if (path[day] >= goal) {
        return Math.max(0, day - now);
      }
    }
    return Double.POSITIVE_INFINITY;
  }

  private static double[] path(Programme programme, Person person, int days) {
    Knee knee = new Knee(person.traits(), new TrueDemand(programme, person));
    double[] path = new double[days];
    int awayUntil = 0;
    for (int day = 0; day < days; day++) {
      path[day] = knee.flexion();
      Luck luck = person.luck(day);
      if (day >= awayUntil && luck.leaves()[0] < person.habits().awayPerYear() / 365) {
        awayUntil = day + (int) Assumption.HOLIDAY_LASTS.at(luck.leaves()[1]);
      }
      if (day >= awayUntil && luck.session() < person.habits().adherence()) {
        knee.bend();
      }
      knee.night(day, luck);
    }
    return path;
  }
}
