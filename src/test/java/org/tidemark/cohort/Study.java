package org.tidemark.cohort;

import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import org.tidemark.programme.Programme;

/**
 * Everything that one run finds out.
 *
 * @param programme the programme
 * @param seed the same seed gives the same study
 * @param number people invented
 * @param weeks how long each is followed at most
 * @param cohort the outcomes of the rules and of the plain policies
 * @param figures their figures, in the same order
 * @param variants figures of the rules with other settings, and of never taking a step, on fewer
 *     people
 * @param sensitivity by scenario: the figures of the rules and the plain policies, on fewer people
 * @param fewer how many people that is
 * @param coverage by number of readings: what became of the forecasts
 * @param weeklyCoverage the same with a reading every week
 * @param seconds how long the run of the rules alone took
 */
record Study(
    Programme programme,
    long seed,
    int number,
    int weeks,
    Cohort cohort,
    Map<Policy, Figures> figures,
    Map<Policy, Figures> variants,
    Map<Scenario, Map<Policy, Figures>> sensitivity,
    int fewer,
    Map<Integer, Coverage.Tally> coverage,
    Map<Integer, Coverage.Tally> weeklyCoverage,
    double seconds) {
  /** The rules first: the others are measured against them. */
  static final List<Policy> POLICIES =
      List.of(
          ServiceRules.USUAL,
          PlainPolicy.WEEKLY_STEP,
          PlainPolicy.PAIN_FREE_STEP,
          PlainPolicy.PAIN_MONITORED);

  private static final int SHARE_OF_SIDE_RUNS = 5;

  static Study of(Programme programme, long seed, int number, int weeks) {
    int fewer = Math.max(1, number / SHARE_OF_SIDE_RUNS);
    long start = System.nanoTime();
    Cohort.run(programme, List.of(ServiceRules.USUAL), Scenario.USUAL, seed, number, weeks);
    double seconds = (System.nanoTime() - start) / 1e9;
    Cohort cohort = Cohort.run(programme, POLICIES, Scenario.USUAL, seed, number, weeks);
    List<Policy> withVariants = new ArrayList<>(List.of(ServiceRules.USUAL));
    withVariants.addAll(Variants.all());
    withVariants.add(PlainPolicy.NEVER_A_STEP);
    Map<Policy, Figures> variants =
        figures(Cohort.run(programme, withVariants, Scenario.USUAL, seed, fewer, weeks), weeks);
    Map<Scenario, Map<Policy, Figures>> sensitivity = new LinkedHashMap<>();
    for (Scenario scenario : Scenario.OTHERS) {
      sensitivity.put(
          scenario, figures(Cohort.run(programme, POLICIES, scenario, seed, fewer, weeks), weeks));
    }
    Map<Integer, Coverage.Tally> coverage = Coverage.of(programme, Scenario.USUAL, seed, number, 0);
    Map<Integer, Coverage.Tally> weekly = Coverage.of(programme, Scenario.USUAL, seed, number, 7);
    return new Study(
        programme,
        seed,
        number,
        weeks,
        cohort,
        figures(cohort, weeks),
        variants,
        sensitivity,
        fewer,
        coverage,
        weekly,
        seconds);
  }

  private static Map<Policy, Figures> figures(Cohort cohort, int weeks) {
    List<Outcome> rules = cohort.outcomes().values().iterator().next();
    Map<Policy, Figures> figures = new LinkedHashMap<>();
    cohort.outcomes().forEach((policy, of) -> figures.put(policy, Figures.of(of, rules, weeks)));
    return figures;
  }

  List<Outcome> outcomesOfRules() {
    return cohort.outcomes().get(ServiceRules.USUAL);
  }
}
