package org.tidemark.demo;

import java.io.PrintStream;
import me.tongfei.progressbar.ConsoleProgressBarConsumer;
import me.tongfei.progressbar.DelegatingProgressBarConsumer;
import me.tongfei.progressbar.ProgressBar;
import me.tongfei.progressbar.ProgressBarBuilder;
import me.tongfei.progressbar.ProgressBarStyle;

/** How far the sending has come: one moving line on a terminal, now and then a line elsewhere. */
final class Progress implements AutoCloseable {
  private static final int WIDTH = 78;
  private static final int ON_TERMINAL_MS = 200;
  private static final int ELSEWHERE_MS = 5_000;

  private final ProgressBar bar;

  /**
   * Begins.
   *
   * @param steps how many steps there are
   * @param out where to show them
   */
  Progress(int steps, PrintStream out) {
    boolean terminal = System.console() != null;
    ProgressBarBuilder builder =
        new ProgressBarBuilder()
            .setTaskName("Sending reports")
            .setInitialMax(steps)
            .setStyle(ProgressBarStyle.ASCII)
            .setUpdateIntervalMillis(terminal ? ON_TERMINAL_MS : ELSEWHERE_MS)
            .setMaxRenderedLength(WIDTH)
            .hideEta();
    builder.setConsumer(
        terminal
            ? new ConsoleProgressBarConsumer(out, WIDTH)
            : new DelegatingProgressBarConsumer(out::println, WIDTH));
    bar = builder.build();
  }

  /** One more is done; may be told from several threads. */
  void step() {
    bar.step();
  }

  @Override
  public void close() {
    bar.close();
  }
}
