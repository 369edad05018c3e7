package org.tidemark.fhir;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.context.support.DefaultProfileValidationSupport;
import ca.uhn.fhir.context.support.ValidationSupportContext;
import java.io.IOException;
import java.io.OutputStream;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.stream.Stream;
import org.hl7.fhir.common.hapi.validation.support.PrePopulatedValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.SnapshotGeneratingValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.ValidationSupportChain;
import org.hl7.fhir.r4.model.MetadataResource;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.StructureDefinition;
import org.hl7.fhir.utilities.npm.NpmPackage;
import org.hl7.fhir.utilities.npm.PackageGenerator;

/**
 * Writes the definitions and examples as a FHIR package, which validators and servers load: the
 * definitions under {@code package}, each StructureDefinition with its snapshot, the examples under
 * {@code package/example}.
 */
public final class PackageWriter {
  /** The name of the package. */
  public static final String NAME = "org.tidemark.fhir";

  private static final String EXAMPLES = "example";

  private final FhirContext context = FhirContext.forR4Cached();
  private final List<Resource> definitions = new ArrayList<>();
  private final List<Resource> examples = new ArrayList<>();

  private PackageWriter(Path folder) throws IOException {
    List<Path> files;
    try (Stream<Path> all = Files.walk(folder)) {
      files = all.filter(file -> file.toString().endsWith(".json")).sorted().toList();
    }
    for (Path file : files) {
      boolean example = file.getParent().endsWith(EXAMPLES);
      (example ? examples : definitions)
          .add((Resource) context.newJsonParser().parseResource(Files.readString(file)));
    }
  }

  /**
   * Writes the package, as the build does.
   *
   * @param arguments the folder with the definitions, the file to write, and the package's version
   * @throws IOException when a file cannot be read or written
   */
  public static void main(String[] arguments) throws IOException {
    write(Path.of(arguments[0]), Path.of(arguments[1]), arguments[2]);
  }

  /**
   * Writes the package.
   *
   * @param folder the folder with the definitions, and the examples in its folder {@code example}
   * @param target the file to write, a {@code .tgz}
   * @param version the package's version, such as {@code 1.0.0}
   * @throws IOException when a file cannot be read or written
   */
  public static void write(Path folder, Path target, String version) throws IOException {
    NpmPackage made = new PackageWriter(folder).made(version);
    Files.createDirectories(target.toAbsolutePath().getParent());
    try (OutputStream file = Files.newOutputStream(target)) {
      made.save(file);
    }
  }

  private NpmPackage made(String version) {
    NpmPackage made = NpmPackage.empty(description(version));
    ValidationSupportChain support = support();
    for (Resource definition : definitions) {
      boolean structure = definition instanceof StructureDefinition;
      add(made, "package", structure ? withSnapshot(support, definition) : definition);
    }
    examples.forEach(example -> add(made, EXAMPLES, example));
    return made;
  }

  private static PackageGenerator description(String version) {
    PackageGenerator description =
        new PackageGenerator()
            .name(NAME)
            .version(version)
            .kind(PackageGenerator.PackageType.IG)
            .description("Graded exercise programmes: profiles, codes, programmes and examples.")
            .author("Tidemark", null, null)
            .fhirVersions(List.of("4.0.1"))
            .dependency("hl7.fhir.r4.core", "4.0.1");
    description.getRootJsonObject().set("canonical", Codes.BASE).set("title", "Tidemark");
    return description;
  }

  private void add(NpmPackage made, String folder, Resource resource) {
    String text = context.newJsonParser().setPrettyPrint(true).encodeResourceToString(resource);
    made.addFile(
        folder,
        resource.fhirType() + "-" + resource.getIdElement().getIdPart() + ".json",
        text.getBytes(StandardCharsets.UTF_8),
        resource.fhirType());
  }

  private ValidationSupportChain support() {
    PrePopulatedValidationSupport own = new PrePopulatedValidationSupport(context);
    definitions.stream().filter(MetadataResource.class::isInstance).forEach(own::addResource);
    return new ValidationSupportChain(
        own,
        new DefaultProfileValidationSupport(context),
        new SnapshotGeneratingValidationSupport(context));
  }

  private static Resource withSnapshot(ValidationSupportChain support, Resource definition) {
    StructureDefinition structure = (StructureDefinition) definition.copy();
    return (Resource)
        support.generateSnapshot(
            new ValidationSupportContext(support),
            structure,
            structure.getUrl(),
            null,
            structure.getName());
  }
}
