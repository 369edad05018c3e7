package org.tidemark.demo;

import io.quarkus.runtime.Quarkus;
import io.quarkus.runtime.QuarkusApplication;
import java.io.PrintStream;
import java.nio.charset.StandardCharsets;
import java.util.List;
import java.util.Locale;
import java.util.Set;
import org.eclipse.microprofile.config.ConfigProvider;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.HumanName;
import org.hl7.fhir.r4.model.Patient;

/**
 * Sends the diaries of the invented people to the service that has just started, tells what it made
 * of them, and leaves it running.
 *
 * <p>Option {@code --exit}: stop the service after the timeline.
 */
public final class Demo implements QuarkusApplication {
  private static final String EXIT = "--exit";
  private static final int USAGE = 2;
  private static final String NOTICE =
      """

      TIDEMARK DEMO. Everyone in it is invented.
      *** ACCESS IS OPEN: no token is asked for; whoever is at this machine reads and writes all. ***
      Not for real data, not for use without a clinician.
      """;

  private final PrintStream out = new PrintStream(System.out, true, StandardCharsets.UTF_8);

  @Override
  public int run(String... args) {
    if (!Set.of(EXIT).containsAll(List.of(args))) {
      out.println("The demo has one option, " + EXIT + ": stop after the timeline.");
      return USAGE;
    }
    String base = ConfigProvider.getConfig().getValue("tidemark.base-url", String.class);
    out.println(NOTICE);
    DemoClient client = new DemoClient(base);
    send(client);
    Timeline timeline = new Timeline(client);
    for (String person : Diaries.PEOPLE) {
      out.println();
      out.println(heading(person));
      timeline.of(person).forEach(moment -> out.print(TimelineText.of(moment)));
    }
    out.println(NOTICE);
    if (List.of(args).contains(EXIT)) {
      return 0;
    }
    out.println("The service is running at " + base + ". Try:");
    out.println();
    Tries.curls(base).forEach(line -> out.println("  " + line + System.lineSeparator()));
    out.println("Ctrl-C stops it; the next demo begins anew.");
    Quarkus.waitForExit();
    return 0;
  }

  private void send(DemoClient client) {
    client.transact(Diaries.clinic());
    try (Progress progress = new Progress(Diaries.pages(), out)) {
      Sending.everyone(client, progress::step);
    }
  }

  /** Such as {@code LIESBET QUARMBY}. */
  private static String heading(String person) {
    for (Bundle.BundleEntryComponent entry : Diaries.enrolment(person).getEntry()) {
      if (entry.getResource() instanceof Patient patient) {
        HumanName name = patient.getNameFirstRep();
        return name.getNameAsSingleString().toUpperCase(Locale.ROOT)
            + System.lineSeparator()
            + "-".repeat(TimelineText.WIDTH);
      }
    }
    throw new IllegalStateException(person + " has no Patient");
  }
}
