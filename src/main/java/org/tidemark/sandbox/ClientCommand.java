package org.tidemark.sandbox;

import io.quarkus.runtime.QuarkusApplication;
import jakarta.inject.Inject;
import java.io.IOException;
import java.io.PrintStream;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import org.tidemark.clinic.Clinics;

/**
 * The command {@code client add ID JWKS-FILE SCOPES [--clinic CLINIC]}: registers a client of the
 * sandbox, for the clinic that the service is set up for unless another is named.
 */
public final class ClientCommand implements QuarkusApplication {
  private static final int USAGE = 2;
  private static final int REFUSED = 1;

  private static final int PARTS = 4;

  @Inject Clients clients;
  @Inject Clinics clinics;

  private final PrintStream out = new PrintStream(System.out, true, StandardCharsets.UTF_8);

  /**
   * Makes the service that starts next only carry out the command: it listens nowhere and lets
   * nothing else run. Must run before the configuration is read.
   */
  public static void prepare() {
    System.setProperty("quarkus.http.host-enabled", "false");
    System.setProperty("quarkus.http.host", "127.0.0.1");
    System.setProperty("tidemark.access", "smart");
    System.setProperty("tidemark.sandbox", "true");
    System.setProperty("tidemark.papers-every", "off");
    System.setProperty("tidemark.sweep.cron", "off");
    System.setProperty("quarkus.banner.enabled", "false");
    System.setProperty("quarkus.log.level", "WARN");
  }

  @Override
  public int run(String... args) {
    boolean named = args.length == PARTS + 2 && args[PARTS].equals("--clinic");
    if (!(args.length == PARTS || named) || !args[0].equals("add")) {
      out.println(
          "client add ID JWKS-FILE SCOPES [--clinic CLINIC], such as:"
              + " client add ward ward.json system/*.rs");
      return USAGE;
    }
    try {
      clients.register(
          args[1],
          Files.readString(Path.of(args[2])),
          args[3],
          named ? args[PARTS + 1] : clinics.home().id());
    } catch (IOException e) {
      out.println("The file " + args[2] + " cannot be read.");
      return REFUSED;
    } catch (IllegalArgumentException e) {
      out.println(e.getMessage());
      return REFUSED;
    }
    out.println("The client " + args[1] + " may ask for " + args[3] + ".");
    return 0;
  }
}
