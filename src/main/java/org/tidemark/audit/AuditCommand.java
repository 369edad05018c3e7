package org.tidemark.audit;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.runtime.QuarkusApplication;
import jakarta.inject.Inject;
import java.io.BufferedWriter;
import java.io.IOException;
import java.io.PrintStream;
import java.io.UncheckedIOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import org.tidemark.clinic.ActingClinic;
import org.tidemark.clinic.Clinics;
import org.tidemark.store.AuditLink;

/**
 * The commands {@code audit check}, which ends with 1 where the chain of a clinic is broken, and
 * {@code audit export FILE [--clinic CLINIC]}, which writes the trail of one as AuditEvents, one a
 * line (NDJSON).
 */
public final class AuditCommand implements QuarkusApplication {
  private static final int USAGE = 2;
  private static final int REFUSED = 1;

  @Inject AuditTrail trail;
  @Inject AuditCheck check;
  @Inject Clinics clinics;
  @Inject AuditEventWriter writer;
  @Inject FhirContext context;

  private final PrintStream out = new PrintStream(System.out, true, StandardCharsets.UTF_8);

  /**
   * Makes the service that starts next only carry out the command: it listens nowhere and lets
   * nothing else run. Must run before the configuration is read.
   */
  public static void prepare() {
    System.setProperty("quarkus.http.host-enabled", "false");
    System.setProperty("quarkus.http.host", "127.0.0.1");
    System.setProperty("tidemark.access", "open");
    System.setProperty("tidemark.papers-every", "off");
    System.setProperty("tidemark.sweep.cron", "off");
    System.setProperty("quarkus.banner.enabled", "false");
    System.setProperty("quarkus.log.level", "WARN");
  }

  @Override
  public int run(String... args) {
    if (args.length == 1 && args[0].equals("check")) {
      trail.catchUpAll();
      return clinics.all().stream()
          .mapToInt(clinic -> ActingClinic.call(clinic.id(), this::checkOne))
          .max()
          .orElseThrow();
    }
    boolean named = args.length == 2 + 2 && args[2].equals("--clinic");
    if ((args.length == 2 || named) && args[0].equals("export")) {
      return export(Path.of(args[1]), named ? args[2 + 1] : clinics.home().id());
    }
    out.println("audit check, or audit export FILE [--clinic CLINIC]");
    return USAGE;
  }

  private int export(Path file, String clinic) {
    if (clinics.find(clinic).isEmpty()) {
      out.println("The clinic '" + clinic + "' is not served here.");
      return USAGE;
    }
    trail.catchUpAll();
    return ActingClinic.call(clinic, () -> export(file));
  }

  private int checkOne() {
    if (clinics.all().size() > 1) {
      out.print("The clinic " + ActingClinic.current() + ": ");
    }
    AuditCheck.Result result = check.run();
    if (result.broken().isPresent()) {
      out.println(
          "The chain is broken at AuditEvent/%d: it, or what stood there, is not as it was written."
              .formatted(result.broken().get()));
      return REFUSED;
    }
    out.println(
        "The chain is whole from AuditEvent/%d to AuditEvent/%d, whose hash is %s."
            .formatted(result.head().removedSeq() + 1, result.head().seq(), result.head().hash()));
    return 0;
  }

  private int export(Path file) {
    try (BufferedWriter lines = Files.newBufferedWriter(file)) {
      check.each(link -> write(link, lines));
    } catch (IOException | UncheckedIOException e) {
      out.println("The file " + file + " cannot be written.");
      return REFUSED;
    }
    return 0;
  }

  private void write(AuditLink link, BufferedWriter lines) {
    try {
      lines.write(context.newJsonParser().encodeResourceToString(writer.write(link)));
      lines.write('\n');
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }
}
