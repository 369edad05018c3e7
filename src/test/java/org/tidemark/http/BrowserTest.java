package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.io.File;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Arrays;
import java.util.Optional;
import java.util.concurrent.TimeUnit;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.junit.jupiter.api.Test;

/**
 * The pages in a real browser: what a clinician does on them, WCAG 2.2 AA by axe-core, and that
 * nothing is cut or overlaps from 320 to 1280 pixels, in English and German. Screenshots and prints
 * are left in {@code target/pages}.
 */
@QuarkusTest
class BrowserTest {
  private static final Path NODE = Path.of("src", "test", "node");
  private static final Path PAGES = Path.of("target", "pages");

  @Test
  void thePagesDoWhatAClinicianAsksOfThem() throws IOException, InterruptedException {
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
    Path printed = PAGES.resolve("printed.txt");
    ProcessBuilder pages =
        new ProcessBuilder(
            "node",
            "pages.mjs",
            "http://localhost:8081",
            PAGES.toAbsolutePath().toString(),
            plans());
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

  /** The plans that the pages are looked at with, as JSON. */
  private static String plans() {
    PlanPerson warned = running("within-stage");
    warned.send(warned.warning(3));
    return "{\"waiting\":\"%s\",\"refused\":\"%s\",\"running\":\"%s\",\"warned\":\"%s\"}"
        .formatted(
            id(waiting().plan()),
            id(waiting().plan()),
            id(running("within-stage").plan()),
            id(warned.plan()));
  }

  private static String id(CarePlan plan) {
    return plan.getIdElement().getIdPart();
  }

  /** Someone whose every step a clinician signs, settled until one is proposed. */
  private static PlanPerson waiting() {
    PlanPerson person = running("every-change");
    for (int day = 3; person.open("approve").isEmpty(); day++) {
      assertTrue(day < 40, "no step is proposed");
      person.settled(day, day);
    }
    return person;
  }

  private static PlanPerson running(String control) {
    PlanPerson person = PlanPerson.here();
    person.send(person.baseline());
    person.send(person.equipment());
    CarePlan enrolment = person.enrolment();
    enrolment.getExtensionByUrl(PlanPerson.OURS + "change-control").setValue(new CodeType(control));
    person.send(enrolment);
    person.settled(1, 2);
    person.send(person.range(2, 121));
    return person;
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
      throw new java.io.UncheckedIOException(e);
    }
  }
}
