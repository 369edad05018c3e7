package org.tidemark.trend;

import java.time.LocalDate;
import java.time.temporal.ChronoUnit;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalDouble;
import java.util.TreeMap;

/**
 * How the plans of a clinic have gone in a period (common practice, not a validated measure).
 *
 * @param answered sessions of the period that were settled, stirred or flared
 * @param flared how many of them flared
 * @param asked sessions of the leading exercise that were asked for
 * @param done sessions of the leading exercise that were reported
 * @param goals how long it took to reach each goal, in the order of their codes
 */
public record OutcomeFigures(
    int answered, int flared, double asked, int done, List<TimeToGoal> goals) {
  private static final double WEEK = 7;

  public OutcomeFigures {
    goals = List.copyOf(goals);
  }

  /**
   * The days of a report, both included.
   *
   * @param from the first
   * @param through the last
   */
  public record Period(LocalDate from, LocalDate through) {}

  /**
   * How many sessions a week a plan asks for.
   *
   * @param from from this day on, until the next
   * @param perWeek sessions a week, 0 or more
   */
  public record Asked(LocalDate from, int perWeek) {}

  /**
   * How far a person's goal is.
   *
   * @param code the goal's code in its programme
   * @param start the day on which work toward it began
   * @param reached the day since which it has been met without a break
   */
  public record Goal(String code, LocalDate start, Optional<LocalDate> reached) {}

  /**
   * How one plan has gone.
   *
   * @param answered sessions of the period that were settled, stirred or flared
   * @param flared how many of them flared
   * @param done sessions of the period that count for a leading exercise
   * @param asked what it asked for, in the order of the days
   * @param ended the day on which it ended, if it has
   * @param goals its goals
   */
  public record Plan(
      int answered,
      int flared,
      int done,
      List<Asked> asked,
      Optional<LocalDate> ended,
      List<Goal> goals) {}

  /**
   * How long it took to reach a goal.
   *
   * @param goal the goal's code
   * @param plans how many plans began to work toward it in the period
   * @param reached how many of them reached it and meet it still
   * @param medianDays the days after which half have (Kaplan and Meier); empty where that has not
   *     been seen
   */
  public record TimeToGoal(String goal, int plans, int reached, OptionalDouble medianDays) {}

  /** The figures of some plans. */
  public static OutcomeFigures of(Period period, List<Plan> plans) {
    Map<String, List<KaplanMeier.Time>> times = new TreeMap<>();
    for (Plan plan : plans) {
      for (Goal goal : plan.goals()) {
        if (!goal.start().isBefore(period.from()) && !goal.start().isAfter(period.through())) {
          times
              .computeIfAbsent(goal.code(), code -> new ArrayList<>())
              .add(time(period, plan, goal));
        }
      }
    }
    return new OutcomeFigures(
        plans.stream().mapToInt(Plan::answered).sum(),
        plans.stream().mapToInt(Plan::flared).sum(),
        plans.stream().mapToDouble(plan -> asked(period, plan)).sum(),
        plans.stream().mapToInt(Plan::done).sum(),
        times.entrySet().stream().map(goal -> timeToGoal(goal.getKey(), goal.getValue())).toList());
  }

  private static TimeToGoal timeToGoal(String goal, List<KaplanMeier.Time> times) {
    return new TimeToGoal(
        goal,
        times.size(),
        (int) times.stream().filter(KaplanMeier.Time::arrived).count(),
        KaplanMeier.of(times).median());
  }

  /** Who has not reached a goal is in sight until the plan or the period ends. */
  private static KaplanMeier.Time time(Period period, Plan plan, Goal goal) {
    LocalDate seen = lastDay(period, plan);
    boolean arrived = goal.reached().filter(day -> !day.isAfter(period.through())).isPresent();
    LocalDate until = arrived ? goal.reached().get() : seen;
    return new KaplanMeier.Time(Math.max(0, ChronoUnit.DAYS.between(goal.start(), until)), arrived);
  }

  private static LocalDate lastDay(Period period, Plan plan) {
    return plan.ended().filter(day -> day.isBefore(period.through())).orElse(period.through());
  }

  private static double asked(Period period, Plan plan) {
    LocalDate end = lastDay(period, plan).plusDays(1);
    double asked = 0;
    for (int i = 0; i < plan.asked().size(); i++) {
      Asked stands = plan.asked().get(i);
      LocalDate from = later(stands.from(), period.from());
      LocalDate until =
          i + 1 < plan.asked().size() ? earlier(plan.asked().get(i + 1).from(), end) : end;
      asked += stands.perWeek() / WEEK * Math.max(0, ChronoUnit.DAYS.between(from, until));
    }
    return asked;
  }

  private static LocalDate later(LocalDate one, LocalDate other) {
    return one.isAfter(other) ? one : other;
  }

  private static LocalDate earlier(LocalDate one, LocalDate other) {
    return one.isBefore(other) ? one : other;
  }

  /** The share of answered sessions that flared, 0 to 1; empty where none was answered. */
  public OptionalDouble flareRate() {
    return answered == 0 ? OptionalDouble.empty() : OptionalDouble.of((double) flared / answered);
  }

  /** The share of what was asked for that was done, 0 or more; empty where nothing was asked. */
  public OptionalDouble adherence() {
    return asked == 0 ? OptionalDouble.empty() : OptionalDouble.of(done / asked);
  }
}
