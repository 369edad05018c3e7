package org.tidemark.load;

import java.io.IOException;
import java.io.PrintStream;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.Duration;
import java.util.ArrayList;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;

/**
 * The command {@code load FILE... --to BASE}: sends the records of NDJSON files to a service. It
 * ends with 0 when each is stored, 1 when some were refused, which a file then lists, 2 when it was
 * called wrongly and 3 when the service could not be reached to the end: the same command goes on
 * where it stopped.
 */
public final class LoadCommand {
  private static final int REFUSED = 1;
  private static final int USAGE = 2;
  private static final int STOPPED = 3;

  private static final Set<String> OPTIONS =
      Set.of(
          "--to",
          "--token-file",
          "--journal",
          "--refused",
          "--records",
          "--connections",
          "--patience");
  private static final String HELP =
      """
      load FILE... --to BASE
        --token-file FILE   an access token, read anew for each request
        --journal FILE      what is stored already (the first file's name with .journal)
        --refused FILE      list of what is refused (the first file's name with .refused)
        --records N         most records of a transaction (500)
        --connections N     how many send at once (4)
        --patience SECONDS  how long to go on while the service does not serve (600)""";

  private final PrintStream out;
  private final List<Path> files = new ArrayList<>();
  private final Map<String, String> options = new HashMap<>();

  private LoadCommand(PrintStream out) {
    this.out = out;
  }

  /**
   * Carries it out.
   *
   * @param args files and options
   * @return the code that the process ends with
   */
  public static int run(String... args) {
    return run(new PrintStream(System.out, true, StandardCharsets.UTF_8), args);
  }

  static int run(PrintStream out, String... args) {
    LoadCommand command = new LoadCommand(out);
    if (!command.understands(args)) {
      out.println(HELP);
      return USAGE;
    }
    try {
      return command.load();
    } catch (Stop | IOException e) {
      out.println("Stopped: " + e.getMessage() + ".");
      out.println("The same command goes on from here.");
      return STOPPED;
    }
  }

  private boolean understands(String... args) {
    for (int i = 0; i < args.length; i++) {
      if (OPTIONS.contains(args[i]) && i + 1 < args.length) {
        options.put(args[i], args[++i]);
      } else if (args[i].startsWith("--")) {
        return false;
      } else {
        files.add(Path.of(args[i]));
      }
    }
    for (Path file : files) {
      if (!Files.isReadable(file)) {
        out.println(file + " cannot be read.");
        return false;
      }
    }
    return !files.isEmpty()
        && options.getOrDefault("--to", "").matches("https?://.+")
        && List.of("--records", "--connections", "--patience").stream()
            .allMatch(name -> options.getOrDefault(name, "1").matches("[1-9]\\d{0,5}"));
  }

  private int load() throws IOException {
    Path first = files.get(0);
    Path journalFile = path("--journal", first.resolveSibling(first.getFileName() + ".journal"));
    Path refused = path("--refused", first.resolveSibling(first.getFileName() + ".refused"));
    Endpoint endpoint =
        new Endpoint(
            options.get("--to"), Optional.ofNullable(options.get("--token-file")).map(Path::of));
    Duration patience = Duration.ofSeconds(number("--patience", 600));
    Refusals refusals = new Refusals(refused, files);
    long bytes = 0;
    for (Path file : files) {
      bytes += Files.size(file);
    }
    long serverTime = endpoint.greet();
    String told;
    try (Journal journal = Journal.open(journalFile, files);
        Progress progress = new Progress(bytes, refusals, out)) {
      try (Loader loader =
          new Loader(
              () -> new Delivery(endpoint, refusals, journal, serverTime, patience),
              journal,
              refusals,
              progress,
              number("--connections", 4),
              number("--records", 500))) {
        loader.load(files);
      }
      told = progress.told();
    }
    out.println(told);
    if (refusals.count() > 0) {
      out.println("%d lines were refused: %s lists them.".formatted(refusals.count(), refused));
      return REFUSED;
    }
    return 0;
  }

  private Path path(String option, Path otherwise) {
    return Optional.ofNullable(options.get(option)).map(Path::of).orElse(otherwise);
  }

  private int number(String option, int otherwise) {
    return Integer.parseInt(options.getOrDefault(option, Integer.toString(otherwise)));
  }
}
