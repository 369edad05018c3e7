package org.tidemark.cohort;

import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.stream.IntStream;
import org.tidemark.programme.Programme;

/**
 * Many people under several policies. Every policy meets the same people with the same luck; who
 * has no start by the baseline is left out of all of them.
 *
 * @param outcomes by policy, in the order given: the outcomes, person by person in the same order
 * @param noStart how many people the baseline gave no start
 */
record Cohort(Map<Policy, List<Outcome>> outcomes, int noStart) {

  /**
   * Runs a cohort on all cores.
   *
   * @param programme the programme
   * @param policies the policies
   * @param scenario how the people are
   * @param seed the same seed gives the same people
   * @param number how many people
   * @param weeks how long each is followed
   */
  static Cohort run(
      Programme programme,
      List<Policy> policies,
      Scenario scenario,
      long seed,
      int number,
      int weeks) {
    List<Optional<List<Outcome>>> lives =
        IntStream.range(0, number)
            .parallel()
            .mapToObj(n -> lives(programme, policies, People.invent(seed, n, scenario), weeks))
            .toList();
    Map<Policy, List<Outcome>> outcomes = new java.util.LinkedHashMap<>();
    for (int p = 0; p < policies.size(); p++) {
      List<Outcome> of = new ArrayList<>();
      for (Optional<List<Outcome>> life : lives) {
        if (life.isPresent()) {
          of.add(life.get().get(p));
        }
      }
      outcomes.put(policies.get(p), of);
    }
    return new Cohort(outcomes, (int) lives.stream().filter(Optional::isEmpty).count());
  }

  static Optional<List<Outcome>> lives(
      Programme programme, List<Policy> policies, Person person, int weeks) {
    TrueDemand demand = new TrueDemand(programme, person);
    List<Outcome> lives = new ArrayList<>();
    for (Policy policy : policies) {
      Optional<Outcome> life = Life.live(programme, person, policy, demand, weeks);
      if (life.isEmpty()) {
        return Optional.empty();
      }
      lives.add(life.get());
    }
    return Optional.of(lives);
  }
}
