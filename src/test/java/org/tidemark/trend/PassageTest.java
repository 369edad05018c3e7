package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.hipparchus.distribution.continuous.NormalDistribution;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.trend.LevelFilter.State;

/**
 * First passage by simulation against closed forms. For a Brownian motion with drift ν and variance
 * σ² a week, starting a below the goal, the chance to arrive within t is Φ((νt − a) / (σ√t)) +
 * exp(2νa / σ²) · Φ(−(a + νt) / (σ√t)) (Karatzas and Shreve 1991, §3.5.C).
 */
class PassageTest {
  private static final NormalDistribution NORMAL = new NormalDistribution();
  private static final double NO_DAMPING = 1e-6;

  /** Where a filter would start; passage begins at the state of the candidate. */
  private static final State START = new State(0, 0, 1, 0, 1);

  /** Four standard errors of a share of 1000 paths. */
  private static final double TOLERANCE = 4 * Math.sqrt(0.25 / Passage.PATHS);

  @ParameterizedTest(name = "{0}° short, {1}° a week, wander {2}: {3} weeks")
  @CsvSource({
    "5, 0.5, 1, 4",
    "5, 0.5, 1, 10",
    "5, 0.5, 1, 26",
    "5, 0.5, 1, 52",
    "3, 0, 1, 13",
    "3, 0, 0.5, 52",
    "10, 0.2, 2, 26",
    "2, -0.1, 1, 26",
    "20, 0.2, 0.7, 104",
    "20, 0.2, 0.7, 152"
  })
  void withDrift(double missing, double drift, double wander, double weeks) {
    DampedLevel model = new DampedLevel(wander * wander, 0, NO_DAMPING);
    Passage passage = Passage.simulate(certain(model, 130 - missing, drift), 130, 1, 42);
    double root = wander * Math.sqrt(weeks);
    double expected =
        NORMAL.cumulativeProbability((drift * weeks - missing) / root)
            + Math.exp(2 * drift * missing / (wander * wander))
                * NORMAL.cumulativeProbability(-(missing + drift * weeks) / root);
    assertEquals(expected, passage.chanceWithin(7 * weeks), TOLERANCE);
  }

  /** Without chance the damped gain has a date: 4 of 12 degrees need ln(12/8)/ln 2 half-lives. */
  @Test
  void withoutChanceTheDampedGainHasADate() {
    double halfLife = 6;
    double damping = Math.log(2) / halfLife;
    DampedLevel model = new DampedLevel(1e-12, 0, damping);
    Passage passage = Passage.simulate(certain(model, 118, 12 * damping), 122, 1, 42);
    double days = 7 * halfLife * Math.log(12 / 8.0) / Math.log(2);
    assertEquals(days, passage.daysUntil(0.1).orElseThrow(), 0.5);
    assertEquals(days, passage.daysUntil(0.9).orElseThrow(), 0.5);
    assertTrue(
        Passage.simulate(certain(model, 118, 12 * damping), 130.5, 1, 42).daysUntil(0.5).isEmpty());
  }

  /** What is uncertain of level and slope: with no wander, arrival by t is level + slope · t. */
  @ParameterizedTest(name = "correlation {0}")
  @CsvSource({"0", "0.6", "-0.6"})
  void withAnUncertainStart(double correlation) {
    DampedLevel model = new DampedLevel(1e-12, 0, NO_DAMPING);
    State state = new State(120, 0.5, 4, correlation * 2 * 0.3, 0.09);
    Passage passage =
        Passage.simulate(
            List.of(new Candidate(new LevelFilter(model, START), state, 1)), 130, 1, 7);
    double spread = Math.sqrt(4 + 2 * correlation * 0.6 * 26 + 0.09 * 26 * 26);
    assertEquals(
        NORMAL.cumulativeProbability((0.5 * 26 - 10) / spread),
        passage.chanceWithin(7 * 26),
        TOLERANCE);
  }

  @Test
  void downwardsIsTheMirrorOfUpwards() {
    DampedLevel model = new DampedLevel(1, 0.01, 0.1);
    State up = new State(120, 0.8, 3, 0.2, 0.1);
    State down = new State(-120, -0.8, 3, 0.2, 0.1);
    Passage above =
        Passage.simulate(List.of(new Candidate(new LevelFilter(model, START), up, 1)), 125, 1, 3);
    Passage below =
        Passage.simulate(
            List.of(new Candidate(new LevelFilter(model, START), down, 1)), -125, -1, 3);
    for (double share : new double[] {0.1, 0.3, 0.5}) {
      assertEquals(above.daysUntil(share), below.daysUntil(share));
    }
  }

  /** A quarter of the belief says the goal is one day off, the rest says it is out of reach. */
  @Test
  void eachCandidateHasItsShare() {
    DampedLevel model = new DampedLevel(1e-12, 0, NO_DAMPING);
    List<Candidate> two =
        List.of(
            new Candidate(new LevelFilter(model, START), new State(129, 7, 1e-12, 0, 1e-12), 0.25),
            new Candidate(new LevelFilter(model, START), new State(100, 0, 1e-12, 0, 1e-12), 0.75));
    Passage passage = Passage.simulate(two, 130, 1, 5);
    assertEquals(0.25, passage.chanceWithin(2));
    assertEquals(1, passage.daysUntil(0.25).orElseThrow(), 1e-3);
    assertTrue(passage.daysUntil(0.251).isEmpty());
  }

  private static List<Candidate> certain(DampedLevel model, double level, double slope) {
    return List.of(
        new Candidate(new LevelFilter(model, START), new State(level, slope, 1e-12, 0, 1e-12), 1));
  }
}
