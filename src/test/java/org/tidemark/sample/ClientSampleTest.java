package org.tidemark.sample;

import io.quarkus.test.junit.QuarkusTest;
import java.io.ByteArrayOutputStream;
import java.io.IOException;
import java.io.PrintStream;
import java.nio.charset.StandardCharsets;
import org.junit.jupiter.api.Test;

/** Runs the sample in Java and holds what it prints. */
@QuarkusTest
class ClientSampleTest {
  @Test
  void takesAPersonToTheFirstStep() throws IOException {
    ByteArrayOutputStream printed = new ByteArrayOutputStream();
    try (PrintStream out = new PrintStream(printed, true, StandardCharsets.UTF_8)) {
      new ClientSample("http://localhost:8081/fhir", "sample-in-java", out).run();
    }
    SampleOutput.check(printed.toString(StandardCharsets.UTF_8));
  }
}
