package org.tidemark.bench;

import java.util.Arrays;
import java.util.Locale;
import java.util.function.IntSupplier;
import org.tidemark.decision.Chronicle;
import org.tidemark.decision.Told;
import org.tidemark.report.PaperPlan;
import org.tidemark.report.Pdf;
import org.tidemark.report.PlanProgress;
import org.tidemark.report.Progress;
import org.tidemark.report.ProgressChart;
import org.tidemark.report.ProgressReport.Room;
import org.tidemark.report.Sheets;

/**
 * Times the papers of a plan with a year of daily reports, in one process: a round of each, over
 * and over, so that all are warmed up alike.
 */
public final class PaperBenchmark {
  private static final int WARM_UP = 40;
  private static final int ROUNDS = 40;

  /** What is timed; each gives the size of what it made, so that nothing is left out. */
  private record Work(String name, IntSupplier work, double[] millis) {
    Work(String name, IntSupplier work) {
      this(name, work, new double[ROUNDS]);
    }
  }

  private PaperBenchmark() {}

  public static void main(String[] args) {
    Chronicle year = Told.year();
    PaperPlan plan = Sheets.plan(year, Locale.GERMAN);
    String handout = Sheets.handout(plan, Locale.GERMAN, Sheets.A4);
    String report = Sheets.report(plan, Locale.GERMAN, Sheets.A4, Room.USUAL);
    Progress progress = PlanProgress.of(plan.programme(), year, Locale.GERMAN);
    Work[] all = {
      new Work("handout, page and PDF", () -> pdf(Sheets.handout(plan, Locale.GERMAN, Sheets.A4))),
      new Work("handout, PDF alone", () -> pdf(handout)),
      new Work("progress report, PDF alone", () -> pdf(report)),
      new Work(
          "progress chart, SVG alone", () -> ProgressChart.svg(progress, Locale.GERMAN).length()),
      new Work(
          "progress chart, trend and SVG",
          () ->
              ProgressChart.svg(
                      PlanProgress.of(plan.programme(), year, Locale.GERMAN), Locale.GERMAN)
                  .length())
    };
    long size = 0;
    for (int round = -WARM_UP; round < ROUNDS; round++) {
      for (Work work : all) {
        long start = System.nanoTime();
        size += work.work().getAsInt();
        if (round >= 0) {
          work.millis()[round] = (System.nanoTime() - start) / 1e6;
        }
      }
    }
    for (Work work : all) {
      Arrays.sort(work.millis());
      System.out.printf(
          Locale.ROOT,
          "%-32s median %6.1f ms, 95 %% within %6.1f ms%n",
          work.name(),
          work.millis()[ROUNDS / 2],
          work.millis()[ROUNDS * 95 / 100]);
    }
    System.out.println(size + " bytes and letters made");
  }

  private static int pdf(String page) {
    return Pdf.of(page).bytes().length;
  }
}
