package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.io.InputStream;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Set;
import java.util.TreeSet;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.hl7.fhir.common.hapi.validation.support.NpmPackageValidationSupport;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.StructureDefinition;
import org.hl7.fhir.utilities.npm.NpmPackage;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;

/** The package that the build writes, loaded as a validator elsewhere loads it. */
class PackageWriterTest {
  /** Among the test classes, because the validator loads packages from the class path. */
  private static final Path FILE = Path.of("target/test-classes/package-under-test.tgz");

  private static NpmPackage written;
  private static ProfileValidation.Checked checked;

  @BeforeAll
  static void write() throws IOException {
    PackageWriter.write(Path.of("fhir-profiles"), FILE, "1.0.0");
    try (InputStream file = Files.newInputStream(FILE)) {
      written = NpmPackage.fromPackage(file);
    }
    NpmPackageValidationSupport support = new NpmPackageValidationSupport(ProfileFiles.R4);
    support.loadPackageFromClasspath("classpath:package-under-test.tgz");
    checked = ProfileValidation.against(support);
  }

  @Test
  void saysWhatItIs() {
    assertEquals("org.tidemark.fhir", written.name());
    assertEquals("1.0.0", written.version());
    assertEquals("4.0.1", written.fhirVersion());
    assertEquals(Codes.BASE, written.canonical());
    assertEquals(List.of("hl7.fhir.r4.core#4.0.1"), written.dependencies());
  }

  @Test
  void holdsEveryDefinitionAndExampleAndNothingElse() throws IOException {
    assertEquals(
        ProfileFiles.all().values().stream().map(PackageWriterTest::name).collect(inOrder()),
        names("package"));
    assertEquals(
        ProfileFiles.examples().values().stream().map(PackageWriterTest::name).collect(inOrder()),
        names("example"));
  }

  static Stream<String> definitions() throws IOException {
    return names("package").stream();
  }

  static Stream<String> examples() throws IOException {
    return names("example").stream();
  }

  @ParameterizedTest
  @MethodSource("definitions")
  void everyDefinitionIsValid(String file) throws IOException {
    Resource definition = parse("package", file);
    if (definition instanceof StructureDefinition structure) {
      assertTrue(
          structure.getSnapshot().getElement().size()
              > structure.getDifferential().getElement().size(),
          "no snapshot");
    }
    assertEquals(List.of(), checked.errors(ProfileValidation.withoutElementContexts(definition)));
  }

  @ParameterizedTest
  @MethodSource("examples")
  void everyExampleIsValid(String file) throws IOException {
    assertEquals(List.of(), checked.errors(parse("example", file)));
  }

  /** The index finds each definition by its canonical address. */
  @Test
  void isIndexed() throws IOException {
    for (StructureDefinition structure : ProfileFiles.all(StructureDefinition.class)) {
      assertTrue(written.hasCanonical(structure.getUrl()), structure.getUrl());
    }
  }

  private static Set<String> names(String folder) throws IOException {
    if (written == null) {
      write();
    }
    List<String> files = new ArrayList<>(written.list(folder));
    files.removeIf(file -> file.startsWith(".") || file.equals("package.json"));
    return new TreeSet<>(files);
  }

  private static String name(Resource resource) {
    return resource.fhirType() + "-" + resource.getIdElement().getIdPart() + ".json";
  }

  private static java.util.stream.Collector<String, ?, Set<String>> inOrder() {
    return Collectors.toCollection(TreeSet::new);
  }

  private static Resource parse(String folder, String file) throws IOException {
    try (InputStream text = written.load(folder, file)) {
      return (Resource)
          ProfileFiles.R4
              .newJsonParser()
              .parseResource(new String(text.readAllBytes(), StandardCharsets.UTF_8));
    }
  }
}
