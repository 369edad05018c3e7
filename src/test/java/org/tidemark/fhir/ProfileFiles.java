package org.tidemark.fhir;

import ca.uhn.fhir.context.FhirContext;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.TreeMap;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.MetadataResource;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.Resource;

/** The resources of {@code fhir-profiles}, read afresh for each caller. */
public final class ProfileFiles {
  public static final FhirContext R4 = FhirContext.forR4Cached();
  private static final Path FOLDER = Path.of("fhir-profiles");

  private ProfileFiles() {}

  /** Every definition, by its path in the folder. */
  public static Map<String, MetadataResource> all() {
    Map<String, MetadataResource> definitions = new TreeMap<>();
    read(FOLDER)
        .forEach(
            (name, resource) -> {
              if (!name.startsWith("example/")) {
                definitions.put(name, (MetadataResource) resource);
              }
            });
    return definitions;
  }

  /** Every example, by the name of its file. */
  public static Map<String, Resource> examples() {
    return read(FOLDER.resolve("example"));
  }

  private static Map<String, Resource> read(Path folder) {
    try (Stream<Path> files = Files.walk(folder)) {
      Map<String, Resource> resources = new TreeMap<>();
      for (Path file : files.filter(path -> path.toString().endsWith(".json")).toList()) {
        resources.put(folder.relativize(file).toString(), parse(file));
      }
      return resources;
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  /** One resource of the test's own, from {@code src/test/resources}. */
  public static Resource parse(Path file) {
    try {
      return (Resource) R4.newJsonParser().parseResource(Files.readString(file));
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  public static <T extends MetadataResource> List<T> all(Class<T> type) {
    return all().values().stream().filter(type::isInstance).map(type::cast).toList();
  }

  public static PlanDefinition plan(String id) {
    return (PlanDefinition) parse(FOLDER.resolve("PlanDefinition").resolve(id + ".json"));
  }

  public static ActivityDefinition activity(String id) {
    return (ActivityDefinition) parse(FOLDER.resolve("ActivityDefinition").resolve(id + ".json"));
  }

  /** The variation of this address and version. */
  public static Optional<ActivityDefinition> byCanonical(String canonical) {
    return all(ActivityDefinition.class).stream()
        .filter(definition -> canonical.equals(definition.getUrl() + "|" + definition.getVersion()))
        .findFirst();
  }
}
