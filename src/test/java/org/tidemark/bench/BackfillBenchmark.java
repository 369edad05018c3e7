package org.tidemark.bench;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Locale;
import java.util.concurrent.atomic.AtomicBoolean;
import java.util.stream.Stream;
import org.tidemark.load.LoadCommand;

/**
 * Loads ten invented years of a clinic into a running service with the command {@code load}, and
 * tells how many Observations a second that is and, where Linux tells it, the memory of the service
 * meanwhile.
 */
public final class BackfillBenchmark {
  private static final long SAMPLE_MS = 5_000;

  private BackfillBenchmark() {}

  /**
   * Writes a file and loads it.
   *
   * @param args the base of the service, how many people (2000), how many sessions each has with a
   *     morning after it (750), and the number of the service's process (none: its memory is not
   *     told)
   */
  public static void main(String[] args) throws Exception {
    int people = args.length > 1 ? Integer.parseInt(args[1]) : 2_000;
    int sessions = args.length > 2 ? Integer.parseInt(args[2]) : 750;
    Path folder = Files.createTempDirectory("decade");
    Path file = folder.resolve("decade.ndjson");
    String name = "d" + Long.toString(System.currentTimeMillis(), 36);
    long observations = Decade.write(file, name, people, sessions);
    say("%,d Observations of %,d people, %,d MiB", observations, people, Files.size(file) >> 20);
    AtomicBoolean ended = new AtomicBoolean();
    Thread watch = new Thread(() -> watch(args.length > 3 ? args[3] : "", ended));
    watch.start();
    long began = System.nanoTime();
    int code = LoadCommand.run(file.toString(), "--to", args[0]);
    double seconds = (System.nanoTime() - began) / 1e9;
    ended.set(true);
    watch.interrupt();
    say(
        "ended with %d after %.0f s: %.0f Observations a second",
        code, seconds, observations / seconds);
  }

  private static void watch(String process, AtomicBoolean ended) {
    long began = System.nanoTime();
    while (!ended.get() && !process.isEmpty()) {
      try (Stream<String> status = Files.lines(Path.of("/proc", process, "status"))) {
        String resident =
            status.filter(line -> line.startsWith("VmRSS")).findFirst().orElse("VmRSS unknown");
        say("%4d s: %s", (System.nanoTime() - began) / 1_000_000_000, resident);
        Thread.sleep(SAMPLE_MS);
      } catch (IOException e) {
        say("its memory is not known: %s", e.getMessage());
        return;
      } catch (InterruptedException end) {
        return;
      }
    }
  }

  private static void say(String format, Object... values) {
    System.out.println(String.format(Locale.ROOT, format, values));
  }
}
