package org.tidemark.application;

import io.quarkus.runtime.util.ClassPathUtils;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Collection;
import java.util.List;
import java.util.stream.Stream;

/** The definitions that come with the service. */
final class ShippedFiles {
  private static final String FOLDER = "fhir-profiles";

  private ShippedFiles() {}

  /**
   * The definitions of some types, each as its text. They lie in a folder named after their type.
   *
   * @param types the types
   */
  static List<String> read(Collection<String> types) {
    List<String> found = new ArrayList<>();
    try {
      ClassPathUtils.consumeAsPaths(FOLDER, folder -> found.addAll(read(folder, types)));
    } catch (IOException e) {
      throw new UncheckedIOException(
          "the definitions that come with the service cannot be read", e);
    }
    return found;
  }

  private static List<String> read(Path folder, Collection<String> types) {
    try (Stream<Path> files = Files.walk(folder)) {
      List<String> texts = new ArrayList<>();
      for (Path file : files.filter(file -> isOf(file, types)).sorted().toList()) {
        texts.add(Files.readString(file));
      }
      return texts;
    } catch (IOException e) {
      throw new UncheckedIOException(
          "the definitions that come with the service cannot be read", e);
    }
  }

  private static boolean isOf(Path file, Collection<String> types) {
    return file.toString().endsWith(".json")
        && types.contains(file.getParent().getFileName().toString());
  }
}
