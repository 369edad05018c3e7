package org.tidemark.load;

import java.io.PrintStream;
import java.time.Duration;
import java.util.Locale;
import me.tongfei.progressbar.ConsoleProgressBarConsumer;
import me.tongfei.progressbar.DelegatingProgressBarConsumer;
import me.tongfei.progressbar.ProgressBar;
import me.tongfei.progressbar.ProgressBarBuilder;
import me.tongfei.progressbar.ProgressBarStyle;

/** How far the loading has come: one moving line on a terminal, now and then a line elsewhere. */
final class Progress implements AutoCloseable {
  private static final int WIDTH = 100;
  private static final int ON_TERMINAL_MS = 500;
  private static final int ELSEWHERE_MS = 5_000;
  private static final long MIB = 1 << 20;

  private final ProgressBar bar;
  private final Refusals refusals;
  private final long began = System.nanoTime();
  private long records;

  /**
   * Begins.
   *
   * @param bytes how long the files are
   * @param refusals how many are refused
   * @param out where to show it
   */
  Progress(long bytes, Refusals refusals, PrintStream out) {
    this.refusals = refusals;
    boolean terminal = System.console() != null;
    bar =
        new ProgressBarBuilder()
            .setTaskName("Loading")
            .setInitialMax(bytes)
            .setUnit(" MiB", MIB)
            .setStyle(ProgressBarStyle.ASCII)
            .setUpdateIntervalMillis(terminal ? ON_TERMINAL_MS : ELSEWHERE_MS)
            .setMaxRenderedLength(WIDTH)
            .setConsumer(
                terminal
                    ? new ConsoleProgressBarConsumer(out, WIDTH)
                    : new DelegatingProgressBarConsumer(out::println, WIDTH))
            .build();
  }

  /** What was acknowledged before is no work of this run. */
  void skip(long bytes) {
    bar.stepBy(bytes);
  }

  /** Records are stored or refused; may be told from several threads. */
  synchronized void done(long count, long bytes) {
    records += count;
    bar.stepBy(bytes);
    bar.setExtraMessage(
        String.format(Locale.ROOT, " %,.0f records/s, %d refused", rate(), refusals.count()));
  }

  /** What was done, in words. */
  synchronized String told() {
    return String.format(
        Locale.ROOT,
        "%,d records sent in %s, %,.0f a second.",
        records,
        Duration.ofSeconds((System.nanoTime() - began) / 1_000_000_000)
            .toString()
            .substring(2)
            .toLowerCase(Locale.ROOT),
        rate());
  }

  private double rate() {
    return records / Math.max(0.001, (System.nanoTime() - began) / 1e9);
  }

  @Override
  public void close() {
    bar.close();
  }
}
