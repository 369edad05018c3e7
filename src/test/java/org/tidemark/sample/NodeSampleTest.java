package org.tidemark.sample;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.io.File;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Arrays;
import java.util.concurrent.TimeUnit;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** Runs the sample for Node and holds what it prints. */
@QuarkusTest
class NodeSampleTest {
  private static final Path FOLDER = Path.of("src", "test", "node");

  @TempDir Path temporary;

  @Test
  void takesAPersonToTheFirstStep() throws IOException, InterruptedException {
    assumeTrue(nodeIsInstalled(), "Not run: there is no node on the PATH.");
    assumeTrue(
        Files.isDirectory(FOLDER.resolve("node_modules")),
        "Not run: its libraries are not installed; npm ci in src/test/node installs them.");
    Path printed = temporary.resolve("printed.txt");
    Process sample =
        new ProcessBuilder("node", "sample.mjs", "http://localhost:8081/fhir", "sample-in-node")
            .directory(FOLDER.toFile())
            .redirectErrorStream(true)
            .redirectOutput(printed.toFile())
            .start();
    try {
      assertTrue(sample.waitFor(2, TimeUnit.MINUTES), "the sample did not end");
    } finally {
      sample.destroyForcibly();
    }
    String text = Files.readString(printed, StandardCharsets.UTF_8);
    assertEquals(0, sample.exitValue(), text);
    SampleOutput.check(text);
  }

  private static boolean nodeIsInstalled() {
    return Arrays.stream(System.getenv("PATH").split(File.pathSeparator))
        .anyMatch(folder -> Files.isExecutable(Path.of(folder, "node")));
  }
}
