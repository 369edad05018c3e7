package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.concurrent.TimeUnit;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** The packaged service does not start where it would let in whom it does not know. */
class UnsafeStartIT {
  private static final Path JAR = Path.of("target/tidemark/tidemark.jar");
  private static final int SECONDS = 120;

  @TempDir Path folder;

  /** What a run of the service said before it ended. */
  private record Ended(int status, String said) {}

  private Ended run(List<String> settings, String... args) throws Exception {
    List<String> command = new ArrayList<>();
    command.add(Path.of(System.getProperty("java.home"), "bin", "java").toString());
    command.add("-XX:TieredStopAtLevel=1");
    command.add("-Dtidemark.data=" + folder.resolve("data"));
    command.add("-Dquarkus.http.port=" + PackagedService.freePort());
    settings.forEach(setting -> command.add("-D" + setting));
    command.addAll(List.of("-jar", JAR.toString()));
    command.addAll(List.of(args));
    Path log = folder.resolve("log");
    Process process =
        new ProcessBuilder(command).redirectErrorStream(true).redirectOutput(log.toFile()).start();
    boolean ended = process.waitFor(SECONDS, TimeUnit.SECONDS);
    process.destroyForcibly();
    assertTrue(ended, "it went on: " + Files.readString(log));
    return new Ended(process.exitValue(), Files.readString(log));
  }

  @Test
  void openAccessBeyondTheMachineDoesNotStart() throws Exception {
    Ended ended = run(List.of("quarkus.http.host=0.0.0.0"));
    assertEquals(1, ended.status());
    assertTrue(ended.said().contains("Access is open (tidemark.access=open)"), ended.said());
    assertTrue(!ended.said().contains("Listening on"), ended.said());
  }

  @Test
  void tokensOfNobodyDoNotStart() throws Exception {
    Ended ended = run(List.of("tidemark.access=smart", "quarkus.http.host=0.0.0.0"));
    assertEquals(1, ended.status());
    assertTrue(ended.said().contains("tidemark.smart.issuer is needed"), ended.said());
  }

  private static final List<String> TWO_CLINICS =
      List.of("tidemark.clinics=default,north", "tidemark.smart.clinic-claim=clinic");

  @Test
  void severalClinicsWithoutAClaimThatTellsThemApartDoNotStart() throws Exception {
    Ended ended =
        run(
            List.of(
                "tidemark.access=smart",
                "tidemark.clinics=default,north",
                "tidemark.smart.issuer=https://id.example",
                "tidemark.smart.jwks=https://id.example/jwks",
                "tidemark.smart.token-endpoint=https://id.example/token"));
    assertEquals(1, ended.status());
    assertTrue(ended.said().contains("set tidemark.smart.clinic-claim"), ended.said());
  }

  @Test
  void aCertificateWithoutItsKeyDoesNotStart() throws Exception {
    Ended ended = run(List.of("tidemark.tls.certificate=" + folder.resolve("tls.crt")));
    assertEquals(1, ended.status());
    assertTrue(ended.said().contains("tidemark.tls.key are set together"), ended.said());
  }

  @Test
  void hostsOfATlsConfigurationThatIsNotThereDoNotStart() throws Exception {
    Ended ended = run(List.of("tidemark.outgoing.tls-hosts=record.example"));
    assertEquals(1, ended.status());
    assertTrue(ended.said().contains("quarkus.tls.outgoing"), ended.said());
  }

  @Test
  void theCommandsOfTheTrailKnowTheClinics() throws Exception {
    String file = folder.resolve("trail.ndjson").toString();
    Ended nowhere = run(TWO_CLINICS, "audit", "export", file, "--clinic", "nowhere");
    assertEquals(2, nowhere.status(), nowhere.said());
    assertTrue(nowhere.said().contains("The clinic 'nowhere' is not served here."));
    assertEquals(0, run(TWO_CLINICS, "audit", "export", file, "--clinic", "north").status());
    assertTrue(Files.exists(Path.of(file)));
    Ended checked = run(TWO_CLINICS, "audit", "check");
    assertEquals(0, checked.status(), checked.said());
    for (String clinic : List.of("default", "north")) {
      assertTrue(checked.said().contains("The clinic " + clinic + ": "), checked.said());
    }
  }

  @Test
  void aClientIsRegisteredForAClinicThatIsServed() throws Exception {
    Path keys = folder.resolve("keys.json");
    Files.writeString(keys, Issuer.jwks(new Issuer("ES384", "one")));
    String[] command = {"client", "add", "ward", keys.toString(), "system/*.rs", "--clinic", ""};
    command[command.length - 1] = "nowhere";
    Ended nowhere = run(TWO_CLINICS, command);
    assertEquals(1, nowhere.status(), nowhere.said());
    assertTrue(nowhere.said().contains("The clinic 'nowhere' is not served here."));
    command[command.length - 1] = "north";
    assertEquals(0, run(TWO_CLINICS, command).status());
  }

  @Test
  void aClientIsRegisteredByOneCommand() throws Exception {
    Path keys = folder.resolve("keys.json");
    Files.writeString(keys, Issuer.jwks(new Issuer("ES384", "one")));
    Ended ended = run(List.of(), "client", "add", "ward", keys.toString(), "system/*.rs");
    assertEquals(0, ended.status(), ended.said());
    assertTrue(ended.said().contains("The client ward may ask for system/*.rs."), ended.said());
    assertEquals(1, run(List.of(), "client", "add", "ward", keys.toString(), "user/*.rs").status());
    assertEquals(2, run(List.of(), "client", "remove").status());
  }
}
