package org.tidemark.bench;

import java.io.IOException;
import java.lang.management.ManagementFactory;
import java.util.Arrays;
import java.util.Locale;

/**
 * Times the clinician's pages of a running service: the page of a plan with a year of data, and the
 * caseload with thousands of plans, as it begins, on its last page, and by a name.
 */
public final class PageBenchmark {
  private static final int DAYS_OF_A_YEAR = 365;
  private static final int WARM_UP = 100;
  private static final int TIMED = 300;
  private static final int ON_A_PAGE = 50;
  private static final int PROGRESS = 500;

  private final BenchClient client;
  private final BenchClient pages;

  private PageBenchmark(String base) {
    client = new BenchClient(base);
    pages = new BenchClient(base.substring(0, base.lastIndexOf('/')));
  }

  /**
   * Measures a running service.
   *
   * @param args its base ({@code http://localhost:8080/fhir}), and how many plans the caseload is
   *     filled up with (5000)
   */
  public static void main(String[] args) throws IOException {
    String base = args.length > 0 ? args[0] : "http://localhost:8080/fhir";
    int plans = args.length > 1 ? Integer.parseInt(args[1]) : 5_000;
    new PageBenchmark(base).run(plans);
  }

  private void run(int plans) throws IOException {
    say(
        "%d processors, JDK %s, load average %.1f",
        Runtime.getRuntime().availableProcessors(),
        Runtime.version(),
        ManagementFactory.getOperatingSystemMXBean().getSystemLoadAverage());
    BenchPerson veteran = new BenchPerson(client);
    veteran.enrol();
    for (int day = 0; day < DAYS_OF_A_YEAR; day++) {
      veteran.liveOneDay();
    }
    say("a year of reports: %d prescriptions", veteran.prescriptions());
    measure("page of a plan with a year of data", "plan/" + veteran.planId());
    for (int i = 1; i <= plans; i++) {
      new BenchPerson(client).enrol();
      if (i % PROGRESS == 0) {
        say("%d plans", i);
      }
    }
    measure("caseload of " + plans + " plans, first page", "");
    measure("its last page", "?page=" + (plans / ON_A_PAGE));
    measure("by a name that all have", "?name=brandvik");
    measure("by a name that nobody has", "?name=nobody");
    say("load average %.1f", ManagementFactory.getOperatingSystemMXBean().getSystemLoadAverage());
  }

  private void measure(String what, String address) throws IOException {
    long[] took = new long[TIMED];
    int size = 0;
    for (int i = -WARM_UP; i < TIMED; i++) {
      long began = System.nanoTime();
      size = pages.get(address).length();
      if (i >= 0) {
        took[i] = System.nanoTime() - began;
      }
    }
    Arrays.sort(took);
    say(
        "%-40s median %6.2f ms   99th percentile %6.2f ms   %d characters",
        what, took[TIMED / 2] / 1e6, took[TIMED * 99 / 100] / 1e6, size);
  }

  private static void say(String format, Object... values) {
    System.out.println(String.format(Locale.ROOT, format, values));
  }
}
