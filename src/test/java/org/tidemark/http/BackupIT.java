package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import io.restassured.response.Response;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.nio.file.attribute.PosixFilePermissions;
import java.util.Comparator;
import java.util.List;
import java.util.Map;
import java.util.Objects;
import java.util.Optional;
import java.util.Set;
import java.util.TreeMap;
import java.util.TreeSet;
import java.util.stream.Stream;
import org.junit.jupiter.api.Assumptions;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** A backup of the embedded database, made under load or at rest, gives the same records anew. */
class BackupIT {
  private static final int PORT = 8081;

  @TempDir Path folder;

  /** Papers are not made meanwhile: what is compared does not move. */
  private Map<String, String> data(String name) {
    return Map.of("TIDEMARK_DATA", folder.resolve(name).toString(), "TIDEMARK_PAPERS_EVERY", "off");
  }

  private static PackagedService.Said command(Map<String, String> settings, String... args)
      throws Exception {
    return PackagedService.command(settings, args);
  }

  /** Every version of every record, as it is sent, by its address. */
  private static Map<String, String> everything() throws IOException {
    Map<String, String> versions = new TreeMap<>();
    String page = "/fhir/_history?_count=500";
    while (page != null) {
      Response history = given().port(PORT).get(page);
      assertEquals(200, history.statusCode());
      JsonNode bundle = new ObjectMapper().readTree(history.asByteArray());
      for (JsonNode entry : bundle.get("entry")) {
        String etag = entry.at("/response/etag").asText().replaceAll("\\D", "");
        String address = entry.get("fullUrl").asText() + "/_history/" + etag;
        String path = address.substring(address.indexOf("/fhir/"));
        versions.put(path, given().port(PORT).get(path).asString());
      }
      page = null;
      for (JsonNode link : bundle.get("link")) {
        if (link.get("relation").asText().equals("next")) {
          String url = link.get("url").asText();
          page = url.substring(url.indexOf("/fhir"));
        }
      }
    }
    return versions;
  }

  /** Names the versions that differ, and not their texts. */
  private static void requireSame(Map<String, String> expected, Map<String, String> found) {
    TreeSet<String> addresses = new TreeSet<>(expected.keySet());
    addresses.addAll(found.keySet());
    addresses.removeIf(address -> Objects.equals(expected.get(address), found.get(address)));
    assertEquals(Set.of(), addresses);
  }

  @Test
  void whatIsRestoredIsWhatWasThere() throws Exception {
    PackagedService service = PackagedService.start(PORT, data("first")).awaitReady();
    Path atRest = folder.resolve("at-rest.zip");
    Path underLoad = folder.resolve("under-load.zip");
    Map<String, String> before;
    Load load = new Load();
    Load later = new Load();
    String keys = given().port(PORT).get("/.well-known/jwks.json").asString();
    try {
      load.reports(PlanPerson.enrolled(), 1);
      load.transactions(PlanPerson.here());
      load.awaitAnswers(20);
      load.stop();
      later.reports(PlanPerson.enrolled(), 1);
      later.transactions(PlanPerson.here());
      later.awaitAnswers(5);
      PackagedService.Said said = command(data("first"), "backup", underLoad.toString());
      assertEquals(0, said.code(), said.text());
      later.awaitAnswers(5);
      PackagedService.Said looked = command(data("first"), "check");
      assertEquals(0, looked.code(), "while it is written to: " + looked.text());
      later.stop();
      assertEquals(0, command(data("first"), "backup", atRest.toString()).code());
      assertEquals("rw-------", mode(atRest), "others do not read it");
      assertEquals(List.of(), errands("first"));
      before = everything();
      assertTrue(before.size() > 100, before.size() + " versions");
    } finally {
      service.stop();
    }
    restored("second", underLoad, load::requireAll, keys);
    restored("third", atRest, () -> requireSame(before, everything()), keys);
  }

  private interface Requirement {
    void hold() throws Exception;
  }

  /** Restores, checks, and looks at it by the service. */
  private void restored(String name, Path backup, Requirement requirement, String keys)
      throws Exception {
    PackagedService.Said said = command(data(name), "restore", backup.toString());
    assertEquals(0, said.code(), said.text());
    assertEquals("rw-------", mode(folder.resolve(name).resolve("tidemark.mv.db")));
    PackagedService.Said checked = command(data(name), "check");
    assertEquals(0, checked.code(), checked.text());
    assertTrue(checked.text().contains("all is whole"), checked.text());
    PackagedService service = PackagedService.start(PORT, data(name)).awaitReady();
    try {
      requirement.hold();
      assertEquals(keys, given().port(PORT).get("/.well-known/jwks.json").asString());
    } finally {
      service.stop();
    }
  }

  private static String mode(Path file) throws IOException {
    return PosixFilePermissions.toString(Files.getPosixFilePermissions(file));
  }

  private List<String> errands(String name) throws IOException {
    try (Stream<Path> files = Files.list(folder.resolve(name))) {
      return files
          .map(file -> file.getFileName().toString())
          .filter(file -> file.startsWith("errand"))
          .toList();
    }
  }

  /** Of the stopped service, too; never over a database, nor from half a file. */
  @Test
  void whatCannotBeDoneIsRefused() throws Exception {
    Path backup = folder.resolve("backup.zip");
    assertEquals(1, command(data("first"), "backup", backup.toString()).code(), "no database");
    PackagedService.start(PORT, data("first")).awaitReady().stop();
    PackagedService.Said said = command(data("first"), "backup", backup.toString());
    assertEquals(0, said.code(), said.text());
    assertEquals(1, command(data("first"), "backup", backup.toString()).code(), "not replaced");
    assertEquals(1, command(data("first"), "restore", backup.toString()).code(), "not over it");
    byte[] whole = Files.readAllBytes(backup);
    Path half = folder.resolve("half.zip");
    Files.write(half, java.util.Arrays.copyOf(whole, whole.length / 2));
    PackagedService.Said refused = command(data("second"), "restore", half.toString());
    assertEquals(1, refused.code(), refused.text());
    assertTrue(refused.text().startsWith("Nothing was restored: "), refused.text());
    assertEquals(List.of(), files("second"));
    Map<String, String> server =
        Map.of("TIDEMARK_DATABASE_URL", "jdbc:postgresql://localhost:1/tidemark");
    assertEquals(1, command(server, "backup", folder.resolve("x.zip").toString()).code());
  }

  /** By PostgreSQL's own tools, of whatever version is installed here. */
  @Test
  void whatPostgresqlsToolsRestoreIsWhatWasThere() throws Exception {
    Optional<Path> tools = postgresql();
    Assumptions.assumeTrue(
        tools.isPresent(), "PostgreSQL with pg_dump is not installed in /usr/lib/postgresql");
    Path bin = tools.get();
    Path cluster = folder.resolve("cluster");
    String port = Integer.toString(PackagedService.freePort());
    run("unshare", "-U", bin + "/initdb", "-D", cluster + "", "-U", "postgres", "-A", "trust");
    String options = "-p %s -k %s".formatted(port, folder);
    String log = folder.resolve("cluster.log").toString();
    run(
        "unshare",
        "-U",
        bin + "/pg_ctl",
        "-D",
        cluster + "",
        "-l",
        log,
        "-w",
        "-o",
        options,
        "start");
    try {
      String[] to = {"-h", "localhost", "-p", port, "-U", "postgres"};
      run(with(to, bin + "/createdb", "first"));
      run(with(to, bin + "/createdb", "second"));
      Map<String, String> before;
      PackagedService service = PackagedService.start(PORT, server(port, "first")).awaitReady();
      try {
        PlanPerson.enrolled().settled(1, 4);
        before = everything();
        assertTrue(before.size() > 40, before.size() + " versions");
        String dump = folder.resolve("dump").toString();
        run(with(to, bin + "/pg_dump", "-Fc", "-f", dump, "first"));
        run(with(to, bin + "/pg_restore", "--exit-on-error", "-d", "second", dump));
      } finally {
        service.stop();
      }
      PackagedService restored = PackagedService.start(PORT, server(port, "second")).awaitReady();
      try {
        requireSame(before, everything());
        PackagedService.Said said = command(server(port, "second"), "check");
        assertEquals(0, said.code(), said.text());
      } finally {
        restored.stop();
      }
    } finally {
      run("unshare", "-U", bin + "/pg_ctl", "-D", cluster + "", "-m", "fast", "stop");
    }
  }

  private static Optional<Path> postgresql() throws IOException {
    Path versions = Path.of("/usr/lib/postgresql");
    if (!Files.isDirectory(versions)) {
      return Optional.empty();
    }
    try (Stream<Path> all = Files.list(versions)) {
      return all.map(version -> version.resolve("bin"))
          .filter(bin -> Files.isExecutable(bin.resolve("pg_dump")))
          .filter(bin -> Files.isExecutable(bin.resolve("initdb")))
          .max(Comparator.naturalOrder());
    }
  }

  private static Map<String, String> server(String port, String name) {
    return Map.of(
        "TIDEMARK_DATABASE_URL",
        "jdbc:postgresql://localhost:" + port + "/" + name,
        "TIDEMARK_DATABASE_USER",
        "postgres",
        "TIDEMARK_PAPERS_EVERY",
        "off");
  }

  private static String[] with(String[] connection, String tool, String... arguments) {
    return Stream.of(Stream.of(tool), Stream.of(connection), Stream.of(arguments))
        .flatMap(part -> part)
        .toArray(String[]::new);
  }

  private void run(String... command) throws IOException, InterruptedException {
    Path log = folder.resolve("tools.log");
    Process process =
        new ProcessBuilder(command)
            .redirectErrorStream(true)
            .redirectOutput(ProcessBuilder.Redirect.appendTo(log.toFile()))
            .start();
    assertEquals(0, process.waitFor(), List.of(command) + ": " + Files.readString(log));
  }

  private List<Path> files(String name) throws IOException {
    try (Stream<Path> files = Files.list(folder.resolve(name))) {
      return files.toList();
    }
  }
}
