package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.Collections;
import java.util.List;
import java.util.OptionalDouble;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.trend.KaplanMeier.Step;
import org.tidemark.trend.KaplanMeier.Time;

/**
 * Weeks in remission under 6-MP (Freireich 1963, Blood 21:699-716), of the 21 people the 12 with a
 * plus lost from sight in remission. The data are the usual teaching set; the shares are worked out
 * from them.
 */
class KaplanMeierTest {
  private static final KaplanMeier REMISSION =
      times("6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+");

  @ParameterizedTest(name = "after week {0}: {1}")
  @CsvSource({
    "5.9, 1",
    "6, .8571",
    "6.9, .8571",
    "7, .8067",
    "10, .7529",
    "13, .6902",
    "16, .6275",
    "22, .5378",
    "22.9, .5378",
    "23, .4482",
    "35, .4482"
  })
  void shareNotArrived(double week, double share) {
    assertEquals(share, REMISSION.shareAfter(week), 5e-5);
  }

  @ParameterizedTest(name = "week {0}: standard error {1}")
  @CsvSource({"6, .0764", "23, .1346"})
  void greenwoodsError(double week, double error) {
    Step step = REMISSION.steps().stream().filter(s -> s.time() == week).findFirst().orElseThrow();
    assertEquals(error, step.standardError(), 5e-5);
  }

  /** A person lost in the week of an arrival is still in sight at it. */
  @Test
  void countsWhoIsInSight() {
    Step first = REMISSION.steps().get(0);
    assertEquals(21, first.atRisk());
    assertEquals(3, first.arrived());
    assertEquals(17, REMISSION.steps().get(1).atRisk());
  }

  @Test
  void median() {
    assertEquals(OptionalDouble.of(23), REMISSION.median());
    assertEquals(OptionalDouble.of(2), times("1 2 3 4").median());
    assertEquals(OptionalDouble.empty(), times("1 2+ 3+ 4+").median());
  }

  @Test
  void whenAllArriveNobodyIsLeft() {
    KaplanMeier all = times("1 2");
    assertEquals(0, all.shareAfter(2));
    assertTrue(Double.isNaN(all.steps().get(1).standardError()));
  }

  @Test
  void nobodyAndNegativeTimes() {
    assertEquals(1, KaplanMeier.of(List.of()).shareAfter(10));
    assertThrows(IllegalArgumentException.class, () -> new Time(-0.1, true));
    assertThrows(IllegalArgumentException.class, () -> new Time(Double.NaN, true));
  }

  @Test
  void theOrderDoesNotMatter() {
    List<Time> times =
        new ArrayList<>(List.of(new Time(6, true), new Time(6, false), new Time(3, true)));
    KaplanMeier there = KaplanMeier.of(times);
    Collections.reverse(times);
    assertEquals(there, KaplanMeier.of(times));
  }

  private static KaplanMeier times(String text) {
    return KaplanMeier.of(
        Arrays.stream(text.split(" "))
            .map(word -> new Time(Double.parseDouble(word.replace("+", "")), !word.endsWith("+")))
            .toList());
  }
}
