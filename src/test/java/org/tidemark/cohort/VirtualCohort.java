package org.tidemark.cohort;

import java.util.*;
import org.tidemark.programme.*;

public final class VirtualCohort {
  public static void main(String[] a) {
    int n = Integer.parseInt(a[0]);
    int w = Integer.parseInt(a[1]);
    Set<String> only = Set.of(a[2].split(","));
    List<Policy> ps = new ArrayList<>();
    if (only.contains("a")) ps.add(ServiceRules.USUAL);
    if (only.contains("b")) ps.add(PlainPolicy.WEEKLY_STEP);
    if (only.contains("c")) ps.add(PlainPolicy.PAIN_FREE_STEP);
    if (only.contains("d")) ps.add(PlainPolicy.PAIN_MONITORED);
    Programme p = TestProgrammes.KNEE;
    for (int rep = 0; rep < 1; rep++) {
      long t = System.nanoTime();
      Cohort c = Cohort.run(p, ps, Scenario.USUAL, 1, n, w);
      System.out.println((System.nanoTime() - t) / 1_000_000 + " ms; no start " + c.noStart());
      c.outcomes()
          .forEach(
              (q, os) -> {
                double days = os.stream().mapToInt(Outcome::daysInSight).sum();
                double ses = os.stream().mapToInt(Outcome::sessions).sum();
                System.out.printf(
                    Locale.ROOT,
                    "%s: flares/y cal %.2f ex %.2f episodes %.2f sore %.1f goal %d last %d of %d held %.3f eased %.3f sessions/day %.2f pieces %.2f%n",
                    q.title(),
                    os.stream().mapToInt(Outcome::flares).sum() / days * 365,
                    os.stream().mapToInt(Outcome::flares).sum() / ses * 365,
                    os.stream().mapToInt(Outcome::episodes).sum() / days * 365,
                    os.stream().mapToInt(Outcome::soreMornings).sum() / days * 365,
                    os.stream().filter(o -> o.goalDay().isPresent()).count(),
                    os.stream().filter(o -> o.lastGoalDay().isPresent()).count(),
                    os.size(),
                    os.stream().mapToInt(Outcome::withheldDays).sum() / days,
                    os.stream().mapToInt(Outcome::easedDays).sum() / days,
                    ses / days,
                    os.stream().mapToInt(Outcome::pieces).average().orElse(0));
                int[] st = new int[5];
                os.forEach(o -> st[o.furthestStage()]++);
                System.out.println(
                    Arrays.toString(st)
                        + " median goal day of reached "
                        + os.stream()
                            .filter(o -> o.goalDay().isPresent())
                            .mapToInt(o -> o.goalDay().getAsInt())
                            .sorted()
                            .skip(os.stream().filter(o -> o.goalDay().isPresent()).count() / 2)
                            .findFirst());
                Map<HeldUp, Integer> h = new EnumMap<>(HeldUp.class);
                os.forEach(o -> o.heldUp().forEach((k, v) -> h.merge(k, v, Integer::sum)));
                double tot = h.values().stream().mapToInt(x -> x).sum();
                h.forEach((k, v) -> System.out.printf("   %s %.3f%n", k, v / tot));
              });
    }
  }
}
