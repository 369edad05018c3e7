package org.tidemark.decision;

import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.concurrent.TimeUnit;
import org.openjdk.jmh.annotations.Benchmark;
import org.openjdk.jmh.annotations.BenchmarkMode;
import org.openjdk.jmh.annotations.Fork;
import org.openjdk.jmh.annotations.Measurement;
import org.openjdk.jmh.annotations.Mode;
import org.openjdk.jmh.annotations.OutputTimeUnit;
import org.openjdk.jmh.annotations.Param;
import org.openjdk.jmh.annotations.Scope;
import org.openjdk.jmh.annotations.Setup;
import org.openjdk.jmh.annotations.State;
import org.openjdk.jmh.annotations.Warmup;
import org.openjdk.jmh.runner.Runner;
import org.openjdk.jmh.runner.RunnerException;
import org.openjdk.jmh.runner.options.CommandLineOptionException;
import org.openjdk.jmh.runner.options.CommandLineOptions;
import org.openjdk.jmh.runner.options.OptionsBuilder;
import org.tidemark.demand.Demand;
import org.tidemark.demand.Ratio;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Setting;
import org.tidemark.programme.TestProgrammes;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;
import org.tidemark.trend.Forecast;
import org.tidemark.trend.Trend;

/**
 * Times the core in microseconds. Forks do not work from within Maven, so that all runs in one
 * process; arguments are those of JMH.
 */
@BenchmarkMode(Mode.AverageTime)
@OutputTimeUnit(TimeUnit.MICROSECONDS)
@Warmup(iterations = 4, time = 2)
@Measurement(iterations = 5, time = 2)
@Fork(0)
public class CoreBenchmark {

  /** Runs every benchmark, or those that the arguments name. */
  public static void main(String[] args) throws RunnerException, CommandLineOptionException {
    CommandLineOptions given = new CommandLineOptions(args);
    OptionsBuilder options = new OptionsBuilder();
    options.parent(given);
    if (given.getIncludes().isEmpty()) {
      options.include(CoreBenchmark.class.getSimpleName());
    }
    new Runner(options.build()).run();
  }

  /** A year of daily sessions and mornings, a reading of the bend every fortnight. */
  @State(Scope.Benchmark)
  public static class Year {
    Programme programme;
    List<Fact> facts;

    @Setup
    public void live() {
      Story story = climbing();
      story.begins();
      for (int day = 0; day < 365; day++) {
        story.accepting().quiet(1);
        if (day % 14 == 13) {
          story.measured("comfortable-flexion", 120 + day / 20 + " deg");
        }
      }
      programme = story.programme;
      facts = List.copyOf(story.facts);
    }
  }

  /** A plan folded up to a number of reports, and the next report of its day. */
  @State(Scope.Benchmark)
  public static class Folded {
    @Param({"30", "300", "730", "3000", "30000"})
    int reports;

    Programme programme;
    PlanState state;
    Fact session;
    PlanState sessionDone;
    Fact morning;

    @Setup
    public void live() {
      Story story = climbing();
      story.begins();
      while (story.facts.size() < reports) {
        story.accepting().quiet(1);
      }
      programme = story.programme;
      state = story.state;
      int before = story.facts.size();
      story.quiet(1);
      session = story.facts.get(before);
      sessionDone = Review.advance(programme, state, session);
      morning = story.facts.get(before + 1);
    }
  }

  /** A series of readings, one a fortnight. */
  @State(Scope.Benchmark)
  public static class Readings {
    @Param({"5", "26", "104"})
    int readings;

    PlanState state;
    Trend trend;

    @Setup
    public void live() {
      Story story = Story.knee().knows("other-side-flexion", "145 deg").begins();
      for (int i = 1; i < readings; i++) {
        double bend = 120 + 20.0 * i / readings + (i * 7 % 5 - 2) / 2.0;
        story.passes(14).measured("comfortable-flexion", bend + " deg");
      }
      state = story.state;
      trend =
          Trend.of(
              RangeCourse.series(TestProgrammes.KNEE.goals().get(0), state.person()).orElseThrow());
    }
  }

  private static Story climbing() {
    return Story.knee()
        .owns("dumbbell-pair", "1 kg", "2 kg", "3 kg", "4 kg", "5 kg", "6 kg", "8 kg", "10 kg");
  }

  @Benchmark
  public PlanState reviewOfOneSession(Folded plan) {
    return Review.advance(plan.programme, plan.state, plan.session);
  }

  @Benchmark
  public PlanState reviewOfOneMorning(Folded plan) {
    return Review.advance(plan.programme, plan.sessionDone, plan.morning);
  }

  @Benchmark
  public PlanState replayOfAYear(Year year) {
    return Review.replay(year.programme, year.facts);
  }

  @Benchmark
  public PlanState placement(Year year) {
    return Review.replay(year.programme, year.facts.subList(0, 3));
  }

  @Benchmark
  public Trend trend(Readings series) {
    return Trend.of(series.trend.series());
  }

  @Benchmark
  public Forecast forecast(Readings series) {
    return Forecast.of(series.trend, 145);
  }

  @Benchmark
  public Optional<RangeCourse> trendForecastAndPlateau(Readings series) {
    return RangeCourse.read(TestProgrammes.KNEE.goals().get(0), series.state);
  }

  @Benchmark
  public Optional<Ratio> demandRatio(Settings settings) {
    return Demand.ratio(settings.squat, settings.from, settings.to, settings.items);
  }

  /** Two settings of the split squat of a person whose height and weight are known. */
  @State(Scope.Benchmark)
  public static class Settings {
    final Variation squat = TestProgrammes.KNEE.variation("split-squat-rock").orElseThrow();
    final Setting from = at(34);
    final Setting to = at(26);
    final Map<String, Value> items =
        Map.of(
            "body-height", Amount.of(175, Unit.CENTIMETRE),
            "body-weight", Amount.of(80, Unit.KILOGRAM));

    private static Setting at(int centimetres) {
      return new Setting(
          Map.of(
              "step-height",
              Amount.of(centimetres, Unit.CENTIMETRE),
              "hand-assist",
              new Grade("two-hands"),
              "dumbbell-load",
              Amount.zero(Unit.KILOGRAM),
              "heel-position",
              new Grade("raised")));
    }
  }
}
