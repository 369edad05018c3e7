package org.tidemark.cohort;

import java.util.Arrays;
import java.util.Comparator;
import java.util.EnumMap;
import java.util.List;
import java.util.Map;

/**
 * What the days before the goal are spent on.
 *
 * @param byStage by what they were spent on: the share of all days, for each stage
 */
record HeldUpDays(Map<HeldUp, double[]> byStage) {

  static HeldUpDays of(List<Outcome> outcomes, int stages) {
    Map<HeldUp, double[]> days = new EnumMap<>(HeldUp.class);
    double all = 0;
    for (Outcome outcome : outcomes) {
      for (Map.Entry<HeldUp, List<Integer>> entry : outcome.heldUp().entrySet()) {
        double[] sum = days.computeIfAbsent(entry.getKey(), why -> new double[stages]);
        for (int stage = 0; stage < stages; stage++) {
          sum[stage] += entry.getValue().get(stage);
          all += entry.getValue().get(stage);
        }
      }
    }
    for (double[] sum : days.values()) {
      for (int stage = 0; stage < stages; stage++) {
        sum[stage] /= all;
      }
    }
    return new HeldUpDays(days);
  }

  double share(HeldUp why) {
    return Arrays.stream(byStage.get(why)).sum();
  }

  List<HeldUp> mostFirst() {
    return byStage.keySet().stream()
        .sorted(Comparator.comparingDouble(this::share).reversed())
        .toList();
  }
}
