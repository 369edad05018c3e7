package org.tidemark.trend;

import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.TreeSet;
import java.util.stream.IntStream;
import org.tidemark.trend.LevelFilter.Observed;
import org.tidemark.trend.LevelFilter.State;

/**
 * Keeps an absurd reading from turning a trend. Each reading is held against what all the others,
 * before and after it, say about the level at its time. One that lies more than {@link #LIMIT}
 * standard deviations off gets the error variance at which it would lie at {@code LIMIT} exactly,
 * so that it still counts, but less the further off it is.
 *
 * <p>With {@code P} the variance of what the others say and {@code R} that of the reading's error,
 * such a reading moves the level at its time by {@code LIMIT² · P / distance}, hence never by more
 * than {@code LIMIT · P / √(P + R)}.
 *
 * <p>The furthest is dealt with first and the rest are judged again without its pull, because an
 * absurd reading makes its honest neighbours look odd. At most one reading in three is; with fewer
 * than three readings none, since nobody can tell which of two is wrong. A true jump therefore
 * takes a few readings to be believed.
 */
final class OutOfLine {
  /** Standard deviations at which a reading is still in line. */
  static final double LIMIT = 3;

  private static final int ONE_IN = 3;

  private final LevelFilter filter;
  private final List<Observed> given;
  private final Set<Integer> found = new TreeSet<>();
  private List<Observed> tamed;

  private OutOfLine(LevelFilter filter, List<Observed> given) {
    this.filter = filter;
    this.given = given;
    this.tamed = given;
  }

  /**
   * Readings of which those out of line have a larger variance.
   *
   * @param readings all of them, in order
   * @param indices which of them are out of line
   */
  record Tamed(List<Observed> readings, Set<Integer> indices) {}

  /** Tames the readings that are out of line under a model. */
  static Tamed tame(LevelFilter filter, List<Observed> given) {
    OutOfLine search = new OutOfLine(filter, given);
    int most = given.size() / ONE_IN;
    for (int round = 0; round < most && search.findsAnother(); round++) {
      search.tameAll();
    }
    return new Tamed(search.tamed, Set.copyOf(search.found));
  }

  /** Adds the reading that is furthest off, if any is. */
  private boolean findsAnother() {
    List<State> others = others();
    Optional<Integer> furthest =
        IntStream.range(0, given.size())
            .boxed()
            .filter(i -> !found.contains(i) && deviations(i, others.get(i)) > LIMIT)
            .max(Comparator.comparingDouble(i -> deviations(i, others.get(i))));
    furthest.ifPresent(found::add);
    return furthest.isPresent();
  }

  /** Gives each reading found its variance; one that is in line after all gets its own back. */
  private void tameAll() {
    List<State> others = others();
    List<Observed> next = new ArrayList<>(given);
    for (int i : List.copyOf(found)) {
      Observed reading = given.get(i);
      State said = others.get(i);
      if (deviations(i, said) > LIMIT) {
        double atLimit = (reading.value() - said.level()) / LIMIT;
        double variance = atLimit * atLimit - said.levelVariance();
        next.set(i, new Observed(reading.time(), reading.gap(), reading.value(), variance));
      } else {
        found.remove(i);
      }
    }
    tamed = next;
  }

  private double deviations(int i, State said) {
    Observed reading = given.get(i);
    return Math.abs(reading.value() - said.level())
        / Math.sqrt(said.levelVariance() + reading.variance());
  }

  /**
   * What all the other readings say of the level at each reading: the smoothed level with the
   * reading's own share taken out again. Its slope is not used.
   */
  private List<State> others() {
    List<State> smoothed = filter.smooth(tamed);
    return IntStream.range(0, tamed.size())
        .mapToObj(i -> without(smoothed.get(i), tamed.get(i)))
        .toList();
  }

  private static State without(State smoothed, Observed reading) {
    double precision = 1 / smoothed.levelVariance() - 1 / reading.variance();
    double level =
        (smoothed.level() / smoothed.levelVariance() - reading.value() / reading.variance())
            / precision;
    return new State(level, 0, 1 / precision, 0, 0);
  }
}
