package org.tidemark.bench;

import com.sun.management.OperatingSystemMXBean;
import java.io.IOException;
import java.lang.management.ManagementFactory;
import java.util.Arrays;
import java.util.Locale;

/**
 * Times the POST of a session report with the decision that it leads to: for people who have just
 * begun, and for one with a long history, in turns within one run.
 */
public final class ReportBenchmark {
  private static final int WARM_UP_DAYS = 200;

  /** A person who has just begun is followed so long, then the next one begins. */
  private static final int DAYS_OF_A_BEGINNER = 30;

  private final BenchClient client;

  private ReportBenchmark(String base) {
    client = new BenchClient(base);
  }

  /**
   * Measures a running service.
   *
   * @param args its base ({@code http://localhost:8080/fhir}), the session reports to time of each
   *     kind of person (2000), and the reports that the long history has before (3000)
   */
  public static void main(String[] args) throws IOException {
    String base = args.length > 0 ? args[0] : "http://localhost:8080/fhir";
    int timed = args.length > 1 ? Integer.parseInt(args[1]) : 2_000;
    int before = args.length > 2 ? Integer.parseInt(args[2]) : 3_000;
    new ReportBenchmark(base).run(timed, before);
  }

  private void run(int timed, int before) throws IOException {
    OperatingSystemMXBean machine =
        (OperatingSystemMXBean) ManagementFactory.getOperatingSystemMXBean();
    say(
        "%s %s, %d processors, JDK %s, load average %.1f",
        System.getProperty("os.name"),
        System.getProperty("os.arch"),
        machine.getAvailableProcessors(),
        Runtime.version(),
        machine.getSystemLoadAverage());
    BenchPerson warm = begin();
    for (int i = 0; i < WARM_UP_DAYS; i++) {
      warm.liveOneDay();
    }
    BenchPerson veteran = begin();
    for (int reports = 0; reports < before; reports += 2) {
      veteran.liveOneDay();
    }
    long[] beginners = new long[timed];
    long[] veterans = new long[timed];
    BenchPerson beginner = begin();
    long prescriptions = 0;
    for (int i = 0; i < timed; i++) {
      if (i > 0 && i % DAYS_OF_A_BEGINNER == 0) {
        prescriptions += beginner.prescriptions();
        beginner = begin();
      }
      beginners[i] = beginner.liveOneDay();
      veterans[i] = veteran.liveOneDay();
    }
    prescriptions += beginner.prescriptions();
    say("beginners: %d prescriptions in %d sessions", prescriptions, timed);
    say("the other: %d prescriptions in all", veteran.prescriptions());
    say("session report with its decision, %d of each, in turns:", timed);
    report("beginners, up to " + 2 * DAYS_OF_A_BEGINNER + " reports", beginners);
    report("one with " + before + " reports and more", veterans);
    say("ratio of the medians: %.2f", at(veterans, 0.5) / at(beginners, 0.5));
    say("load average %.1f", machine.getSystemLoadAverage());
  }

  private BenchPerson begin() throws IOException {
    BenchPerson person = new BenchPerson(client);
    person.enrol();
    return person;
  }

  private static void report(String who, long[] nanoseconds) {
    say(
        "  %-36s median %6.2f ms   99th percentile %6.2f ms",
        who, at(nanoseconds, 0.5), at(nanoseconds, 0.99));
  }

  /** A quantile, in milliseconds. */
  private static double at(long[] nanoseconds, double part) {
    long[] sorted = nanoseconds.clone();
    Arrays.sort(sorted);
    return sorted[(int) Math.min(sorted.length - 1L, (long) (sorted.length * part))] / 1e6;
  }

  private static void say(String format, Object... values) {
    System.out.println(String.format(Locale.ROOT, format, values));
  }
}
