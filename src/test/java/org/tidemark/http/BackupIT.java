package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.nio.file.attribute.PosixFilePermissions;
import java.util.List;
import java.util.Map;
import java.util.stream.Stream;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** A backup of the embedded database, made under load or at rest, gives the same records anew. */
class BackupIT {
  private static final int PORT = PlanPerson.PORT;

  @TempDir Path folder;

  /** Papers are not made meanwhile: what is compared does not move. */
  private Map<String, String> data(String name) {
    return Map.of("TIDEMARK_DATA", folder.resolve(name).toString(), "TIDEMARK_PAPERS_EVERY", "off");
  }

  private static PackagedService.Said command(Map<String, String> settings, String... args)
      throws Exception {
    return PackagedService.command(settings, args);
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
      before = StoredVersions.all(PORT);
      assertTrue(before.size() > 100, before.size() + " versions");
    } finally {
      service.stop();
    }
    restored("second", underLoad, load::requireAll, keys);
    restored(
        "third", atRest, () -> StoredVersions.requireSame(before, StoredVersions.all(PORT)), keys);
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

  private List<Path> files(String name) throws IOException {
    try (Stream<Path> files = Files.list(folder.resolve(name))) {
      return files.toList();
    }
  }
}
