package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.stream.Stream;

/**
 * A PostgreSQL of this machine, of whatever version is installed, with the tools that the one which
 * the tests bring does not have. Root may not run it, so that it is run in a user namespace.
 */
final class InstalledPostgres {
  private static final Path VERSIONS = Path.of("/usr/lib/postgresql");

  private final Path tools;
  private final Path data;
  private final Path log;
  private final String port = Integer.toString(PackagedService.freePort());

  /**
   * One that does not run yet.
   *
   * @param data its folder of data, which may have some already
   */
  InstalledPostgres(Path data) throws IOException {
    this.tools = tools().orElseThrow();
    this.data = data;
    this.log = data.resolveSibling(data.getFileName() + ".log");
  }

  /** Where its tools lie; empty when it is not installed. */
  static Optional<Path> tools() throws IOException {
    if (!Files.isDirectory(VERSIONS)) {
      return Optional.empty();
    }
    try (Stream<Path> all = Files.list(VERSIONS)) {
      return all.map(version -> version.resolve("bin"))
          .filter(bin -> Files.isExecutable(bin.resolve("pg_basebackup")))
          .filter(bin -> Files.isExecutable(bin.resolve("initdb")))
          .max(Comparator.naturalOrder());
    }
  }

  /** Makes an empty folder of data, with further settings. */
  InstalledPostgres init(String... settings) throws IOException, InterruptedException {
    asUser("initdb", "-D", data.toString(), "-U", "postgres", "-A", "trust");
    set(settings);
    return this;
  }

  /** Adds settings. */
  void set(String... settings) throws IOException {
    Path file = data.resolve("postgresql.conf");
    Files.writeString(file, Files.readString(file) + "\n" + String.join("\n", settings) + "\n");
  }

  void start() throws IOException, InterruptedException {
    String options = "-p %s -k %s".formatted(port, data.getParent());
    asUser("pg_ctl", "-D", data.toString(), "-l", log.toString(), "-w", "-o", options, "start");
  }

  void stop() throws IOException, InterruptedException {
    asUser("pg_ctl", "-D", data.toString(), "-m", "fast", "stop");
  }

  /** Runs one of its tools, which connects to it. */
  void run(String tool, String... arguments) throws IOException, InterruptedException {
    List<String> command =
        new ArrayList<>(List.of(tool, "-h", "localhost", "-p", port, "-U", "postgres"));
    command.addAll(List.of(arguments));
    end(List.of(), command);
  }

  /** The settings of a service that keeps its records there, and makes no papers meanwhile. */
  Map<String, String> settings(String database) {
    return Map.of(
        "TIDEMARK_DATABASE_URL",
        "jdbc:postgresql://localhost:" + port + "/" + database,
        "TIDEMARK_DATABASE_USER",
        "postgres",
        "TIDEMARK_PAPERS_EVERY",
        "off");
  }

  private void asUser(String... command) throws IOException, InterruptedException {
    end(List.of("unshare", "-U"), List.of(command));
  }

  private void end(List<String> before, List<String> tool)
      throws IOException, InterruptedException {
    List<String> command = new ArrayList<>(before);
    command.add(tools.resolve(tool.get(0)).toString());
    command.addAll(tool.subList(1, tool.size()));
    Process process =
        new ProcessBuilder(command)
            .redirectErrorStream(true)
            .redirectOutput(ProcessBuilder.Redirect.appendTo(log.toFile()))
            .start();
    assertEquals(0, process.waitFor(), command + ": " + Files.readString(log));
  }
}
