package org.tidemark.demo;

import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.stream.Stream;

/**
 * The demo's own data folder, {@code demo-data} beside the folder of the packaged service. Each
 * demo starts from nothing; the folder of a real service is never touched.
 */
public final class DemoFolder {
  /** Every file of the database begins so. */
  private static final String DATABASE = "tidemark.";

  private DemoFolder() {}

  /**
   * Empties the folder and makes the service that starts next use it. Must run before the
   * configuration is read.
   *
   * @throws IllegalStateException when the folder holds something that is not the demo's database
   */
  public static void useFresh() {
    Path folder = folder(System.getProperty("java.class.path", ""));
    empty(folder);
    System.setProperty("tidemark.data", folder.toString());
    System.setProperty("tidemark.database.url", "");
    System.setProperty("tidemark.access", "open");
    System.setProperty("tidemark.sandbox", "false");
    quiet("quarkus.banner.enabled", "false");
    quiet("quarkus.log.level", "WARN");
    quiet("quarkus.log.category.\"org.flywaydb\".level", "ERROR");
  }

  /**
   * Where it is.
   *
   * @param classPath what the service was started from, such as {@code
   *     target/tidemark/tidemark.jar}
   */
  static Path folder(String classPath) {
    Path jar = Path.of(classPath).toAbsolutePath().normalize();
    boolean packaged = jar.getFileName().toString().equals("tidemark.jar");
    Path beside = packaged ? jar.getParent().getParent() : Path.of("target").toAbsolutePath();
    return beside.resolve("demo-data");
  }

  static void empty(Path folder) {
    try {
      Files.createDirectories(folder);
      List<Path> files;
      try (Stream<Path> found = Files.list(folder)) {
        files = found.toList();
      }
      for (Path file : files) {
        if (!file.getFileName().toString().startsWith(DATABASE)) {
          throw new IllegalStateException(
              folder + " holds " + file.getFileName() + ", which is not the demo's: remove it");
        }
      }
      for (Path file : files) {
        Files.delete(file);
      }
    } catch (IOException e) {
      throw new UncheckedIOException("the demo's folder " + folder + " cannot be emptied", e);
    }
  }

  /** What the service logs at a normal start would be lost among the demo's own words. */
  private static void quiet(String property, String value) {
    if (System.getProperty(property) == null) {
      System.setProperty(property, value);
    }
  }
}
