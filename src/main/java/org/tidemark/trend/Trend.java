package org.tidemark.trend;

import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.IdentityHashMap;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.stream.IntStream;
import org.tidemark.trend.LevelFilter.Observed;
import org.tidemark.trend.LevelFilter.State;

/**
 * Where a range stands and where it is going, from all its readings: a damped local level through
 * the Kalman filter, each reading with the error of its method. The parameters come from the
 * readings by maximum likelihood, see {@link TrendParameters}; how little a few readings tell about
 * them is part of every interval.
 */
public final class Trend {
  static final double DAYS_PER_WEEK = 7;

  private final RangeSeries series;
  private final TrendParameters parameters;
  private final List<Observed> observed;
  private final List<Candidate> candidates;
  private final Set<Integer> outOfLine;

  private Trend(
      RangeSeries series, TrendParameters parameters, OutOfLine.Tamed tamed, double middle) {
    this.series = series;
    this.parameters = parameters;
    this.observed = tamed.readings();
    this.candidates = new LikelihoodFit(observed, middle).candidates(parameters);
    this.outOfLine = tamed.indices();
  }

  /**
   * The trend of a series. Readings out of line are found twice: with the usual parameters, so that
   * they cannot spoil the fit, and again with the fitted ones.
   */
  public static Trend of(RangeSeries series) {
    List<Observed> given = observed(series);
    double middle = middle(series);
    OutOfLine.Tamed rough = OutOfLine.tame(TrendParameters.USUAL.filter(middle), given);
    TrendParameters parameters = new LikelihoodFit(rough.readings(), middle).best();
    return new Trend(series, parameters, OutOfLine.tame(parameters.filter(middle), given), middle);
  }

  public RangeSeries series() {
    return series;
  }

  /** The most likely parameters. */
  public TrendParameters parameters() {
    return parameters;
  }

  /** Time of the newest reading, at which level and slope hold. */
  public OffsetDateTime at() {
    return series.last().when();
  }

  /** The range in degrees, freed of the error of measuring as far as possible. */
  public Interval level() {
    return levelNow().interval();
  }

  Mixture levelNow() {
    return Mixture.ofLevel(candidates, Candidate::state);
  }

  /** How fast the range changes now, in degrees a week. */
  public Interval slopePerWeek() {
    return Mixture.ofSlope(candidates, Candidate::state).interval();
  }

  /**
   * Where the range is heading, in degrees, when the slope dies away and no new one begins: the
   * damped asymptote.
   */
  public Interval headingFor() {
    return heading().interval();
  }

  Mixture heading() {
    return Mixture.ofHeading(candidates);
  }

  /** The newest readings against the first. */
  public RangeChange change() {
    List<Reading> inLine =
        IntStream.range(0, observed.size())
            .filter(i -> !outOfLine.contains(i))
            .mapToObj(series.readings()::get)
            .toList();
    return RangeChange.over(series, inLine);
  }

  /**
   * Readings more than 3 standard deviations from what the others say, earliest first. They hardly
   * count; measuring again is better than believing either.
   */
  public List<Reading> outOfLine() {
    return outOfLine.stream().sorted().map(series.readings()::get).toList();
  }

  /** The sets of parameters that the readings allow. */
  List<Candidate> candidates() {
    return candidates;
  }

  /** The level in degrees at each reading of the series, earliest first, from all readings. */
  public List<Double> levels() {
    Map<Candidate, List<State>> paths = paths();
    return IntStream.range(0, observed.size())
        .mapToObj(i -> Mixture.ofLevel(candidates, candidate -> paths.get(candidate).get(i)))
        .map(Mixture::median)
        .toList();
  }

  /**
   * Where the level will be some time after the newest reading, if it goes on as it does.
   *
   * @param days how long after it, 0 or more
   */
  public Ahead ahead(double days) {
    double weeks = days / DAYS_PER_WEEK;
    Mixture level = Mixture.ofLevel(candidates, candidate -> candidate.after(weeks));
    return new Ahead(
        level.quantile(Forecast.TAIL), level.median(), level.quantile(1 - Forecast.TAIL));
  }

  /**
   * Where a level will be, degrees.
   *
   * @param low one in ten is lower
   * @param middle half are lower
   * @param high one in ten is higher
   */
  public record Ahead(double low, double middle, double high) {}

  /** The slope a week at each reading, from all readings. */
  List<Mixture> slopes() {
    Map<Candidate, List<State>> paths = paths();
    return IntStream.range(0, observed.size())
        .mapToObj(i -> Mixture.ofSlope(candidates, candidate -> paths.get(candidate).get(i)))
        .toList();
  }

  private Map<Candidate, List<State>> paths() {
    Map<Candidate, List<State>> paths = new IdentityHashMap<>();
    candidates.forEach(candidate -> paths.put(candidate, candidate.filter().smooth(observed)));
    return paths;
  }

  private static List<Observed> observed(RangeSeries series) {
    List<Observed> observed = new ArrayList<>();
    double byRaters = series.raterVariance();
    double before = 0;
    for (Reading reading : series.readings()) {
      double week = series.day(reading) / DAYS_PER_WEEK;
      double variance = reading.variance() + byRaters;
      observed.add(new Observed(week, week - before, reading.degrees(), variance));
      before = week;
    }
    return observed;
  }

  private static double middle(RangeSeries series) {
    double[] sorted = series.readings().stream().mapToDouble(Reading::degrees).sorted().toArray();
    return sorted[sorted.length / 2];
  }
}
