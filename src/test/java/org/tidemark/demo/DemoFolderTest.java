package org.tidemark.demo;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** The demo begins anew each time, and only ever empties its own folder. */
class DemoFolderTest {
  @TempDir Path somewhere;

  @Test
  void itLiesBesideThePackagedService() {
    String jar = somewhere.resolve("target/tidemark/tidemark.jar").toString();
    assertEquals(somewhere.resolve("target/demo-data"), DemoFolder.folder(jar));
  }

  @Test
  void theDatabaseOfTheDemoBeforeGoes() throws IOException {
    Path database = Files.createFile(somewhere.resolve("tidemark.mv.db"));
    DemoFolder.empty(somewhere);
    assertFalse(Files.exists(database));
    assertTrue(Files.isDirectory(somewhere));
  }

  @Test
  void aFolderThatHoldsSomethingElseIsLeftAlone() throws IOException {
    Path database = Files.createFile(somewhere.resolve("tidemark.mv.db"));
    Path other = Files.createFile(somewhere.resolve("letters.txt"));
    assertThrows(IllegalStateException.class, () -> DemoFolder.empty(somewhere));
    assertTrue(Files.exists(database));
    assertTrue(Files.exists(other));
  }
}
