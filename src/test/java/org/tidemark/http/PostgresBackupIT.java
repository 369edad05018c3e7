package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.HashMap;
import java.util.Map;
import org.junit.jupiter.api.Assumptions;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** What PostgreSQL's own tools save and restore, as the README says, is what was there. */
class PostgresBackupIT {
  private static final int PORT = PlanPerson.PORT;

  @TempDir Path folder;

  @BeforeEach
  void installed() throws IOException {
    Assumptions.assumeTrue(
        InstalledPostgres.tools().isPresent(),
        "PostgreSQL is not installed in /usr/lib/postgresql");
  }

  private interface Work {
    void run() throws Exception;
  }

  private static void served(Map<String, String> settings, Work work) throws Exception {
    PackagedService service = PackagedService.start(PORT, settings).awaitReady();
    try {
      work.run();
    } finally {
      service.stop();
    }
  }

  private static void requireWhole(Map<String, String> settings) throws Exception {
    PackagedService.Said said = PackagedService.command(settings, "check");
    assertEquals(0, said.code(), said.text());
  }

  @Test
  void aDumpIsRestored() throws Exception {
    InstalledPostgres server = new InstalledPostgres(folder.resolve("cluster")).init();
    server.start();
    try {
      server.run("createdb", "first");
      server.run("createdb", "second");
      Path dump = folder.resolve("tidemark.dump");
      Map<String, String> before = new HashMap<>();
      served(
          server.settings("first"),
          () -> {
            PlanPerson.enrolled().settled(1, 4);
            before.putAll(StoredVersions.all(PORT));
            server.run("pg_dump", "-Fc", "-f", dump.toString(), "first");
            server.run("pg_restore", "--exit-on-error", "-d", "second", dump.toString());
          });
      served(
          server.settings("second"),
          () -> {
            StoredVersions.requireSame(before, StoredVersions.all(PORT));
            requireWhole(server.settings("second"));
          });
    } finally {
      server.stop();
    }
  }

  /** A copy of the folder, and the log of what was written since, up to a named point. */
  @Test
  void aPointInTimeIsRestored() throws Exception {
    Path archive = Files.createDirectory(folder.resolve("archive"));
    InstalledPostgres server =
        new InstalledPostgres(folder.resolve("first"))
            .init("archive_mode = on", "archive_command = 'cp %p " + archive + "/%f'");
    Path copy = folder.resolve("second");
    Map<String, String> before = new HashMap<>();
    server.start();
    try {
      server.run("createdb", "tidemark");
      served(
          server.settings("tidemark"),
          () -> {
            PlanPerson person = PlanPerson.enrolled();
            server.run("pg_basebackup", "-D", copy.toString(), "-X", "none", "-c", "fast");
            person.settled(1, 4);
            before.putAll(StoredVersions.all(PORT));
            server.run("psql", "-c", "select pg_create_restore_point('before')", "postgres");
            person.settled(5, 6);
          });
    } finally {
      server.stop();
    }
    InstalledPostgres restored = new InstalledPostgres(copy);
    restored.set(
        "archive_mode = off",
        "restore_command = 'cp " + archive + "/%f %p'",
        "recovery_target_name = 'before'",
        "recovery_target_action = 'promote'");
    Files.createFile(copy.resolve("recovery.signal"));
    restored.start();
    try {
      served(
          restored.settings("tidemark"),
          () -> {
            assertTrue(before.size() > 40, before.size() + " versions");
            StoredVersions.requireSame(before, StoredVersions.all(PORT));
            requireWhole(restored.settings("tidemark"));
          });
    } finally {
      restored.stop();
    }
  }
}
