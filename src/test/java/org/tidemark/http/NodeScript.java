package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import java.io.File;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Optional;
import java.util.concurrent.TimeUnit;
import java.util.stream.Stream;

/** A script that drives the pages in a real browser, where there are Node and one. */
final class NodeScript {
  private static final Path NODE = Path.of("src", "test", "node");
  private static final Path PAGES = Path.of("target", "pages");

  private NodeScript() {}

  /**
   * Runs a script of {@code src/test/node} against the service; what it leaves is in {@code
   * target/pages}.
   *
   * @param more what it is told besides the address of the service and that folder
   */
  static void run(String script, String... more) throws IOException, InterruptedException {
    assumeTrue(onPath("node").isPresent(), "Not run: there is no node on the PATH.");
    assumeTrue(
        Files.isDirectory(NODE.resolve("node_modules")),
        "Not run: its libraries are not installed; npm ci in src/test/node installs them.");
    Optional<Path> browser =
        Stream.of("chromium", "chromium-browser", "google-chrome")
            .flatMap(name -> onPath(name).stream())
            .findFirst();
    assumeTrue(browser.isPresent(), "Not run: there is no chromium on the PATH.");
    Files.createDirectories(PAGES);
    Path printed = PAGES.resolve(script + ".txt");
    List<String> command =
        new ArrayList<>(
            List.of(
                "node",
                script,
                "http://localhost:" + PlanPerson.PORT,
                PAGES.toAbsolutePath().toString()));
    command.addAll(List.of(more));
    ProcessBuilder pages = new ProcessBuilder(command);
    pages.environment().put("BROWSER_PATH", browser.get().toString());
    Process running =
        pages
            .directory(NODE.toFile())
            .redirectErrorStream(true)
            .redirectOutput(printed.toFile())
            .start();
    try {
      assertTrue(running.waitFor(10, TimeUnit.MINUTES), () -> "did not end: " + read(printed));
    } finally {
      running.destroyForcibly();
    }
    assertEquals(0, running.exitValue(), () -> read(printed));
  }

  private static Optional<Path> onPath(String name) {
    return Arrays.stream(System.getenv("PATH").split(File.pathSeparator))
        .map(folder -> Path.of(folder, name))
        .filter(Files::isExecutable)
        .findFirst();
  }

  private static String read(Path file) {
    try {
      return Files.readString(file);
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }
}
