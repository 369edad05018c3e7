package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.context.support.DefaultProfileValidationSupport;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.TreeSet;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.MetadataResource;
import org.hl7.fhir.r4.model.NamingSystem;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.StructureDefinition;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;

/** Everything in {@code fhir-profiles} is valid FHIR, and what clients send fits it. */
class ProfilesTest {
  private static final DefaultProfileValidationSupport R4 =
      new DefaultProfileValidationSupport(ProfileFiles.R4);

  private static final Map<String, MetadataResource> FILES = ProfileFiles.all();

  static Stream<String> files() {
    return FILES.keySet().stream();
  }

  @ParameterizedTest
  @MethodSource("files")
  void everyArtefactIsValid(String file) {
    MetadataResource resource = FILES.get(file);
    assertEquals(
        List.of(),
        ProfileValidation.errors(ProfileValidation.withoutElementContexts(resource)),
        file);
    String address =
        Codes.BASE + "/" + resource.fhirType() + "/" + resource.getIdElement().getIdPart();
    if (resource instanceof NamingSystem system) {
      assertEquals(address, system.getUniqueIdFirstRep().getValue());
    } else {
      assertEquals(address, resource.getUrl());
      assertEquals("1.0.0", resource.getVersion());
    }
    assertEquals("Tidemark", resource.getPublisher());
    assertEquals(resource.fhirType() + "/" + resource.getIdElement().getIdPart() + ".json", file);
  }

  @ParameterizedTest
  @MethodSource("examples")
  void everyExampleFitsTheProfilesThatItClaims(String file) {
    Resource example = ProfileFiles.examples().get(file);
    assertEquals(List.of(), ProfileValidation.errors(example));
    assertEquals(example.getIdElement().getIdPart() + ".json", file);
  }

  static Stream<String> examples() {
    return ProfileFiles.examples().keySet().stream();
  }

  /** The programmes that come with the service are examples of their profiles themselves. */
  @Test
  void everyProfileHasAnExample() {
    Set<String> claimed = new TreeSet<>();
    Stream.concat(ProfileFiles.examples().values().stream(), FILES.values().stream())
        .forEach(
            resource ->
                resource
                    .getMeta()
                    .getProfile()
                    .forEach(profile -> claimed.add(profile.getValue())));
    Set<String> profiles =
        ProfileFiles.all(StructureDefinition.class).stream()
            .filter(definition -> !definition.getType().equals("Extension"))
            .map(StructureDefinition::getUrl)
            .collect(Collectors.toCollection(TreeSet::new));
    assertEquals(profiles, claimed);
  }

  static Stream<String> contexts() {
    return ProfileFiles.all(StructureDefinition.class).stream()
        .flatMap(definition -> definition.getContext().stream())
        .map(StructureDefinition.StructureDefinitionContextComponent::getExpression)
        .distinct();
  }

  @ParameterizedTest
  @MethodSource("contexts")
  void everyContextOfAnExtensionIsAnElementOfR4(String context) {
    String type = context.split("\\.")[0];
    StructureDefinition base =
        (StructureDefinition)
            R4.fetchStructureDefinition("http://hl7.org/fhir/StructureDefinition/" + type);
    assertTrue(
        base.getSnapshot().getElement().stream()
            .anyMatch(element -> context.equals(element.getPath())),
        context);
  }
}
