package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.context.support.DefaultProfileValidationSupport;
import java.io.IOException;
import java.net.URI;
import java.net.URISyntaxException;
import java.nio.file.FileSystem;
import java.nio.file.FileSystems;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.TreeMap;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.Base;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Property;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.StringType;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;

/**
 * A check by the definitions without prose refuses what a check by HAPI's whole definitions
 * refuses. Checked on HL7's examples of R4 (in the library {@code fhir-test-cases}) and on what
 * remains of them when one element is taken away.
 */
class R4DefinitionsTest {
  private static final String FOLDER = "/org/hl7/fhir/testcases/r4/examples";
  private static final FhirContext R4 = ProfileFiles.R4;
  private static final RecordCheck SHORT = new RecordCheck(R4, List.of());
  private static final RecordCheck WHOLE =
      new RecordCheck(R4, List.of(), new DefaultProfileValidationSupport(R4));

  /** Of these types the examples are damaged, too. */
  private static final Set<String> DAMAGED =
      Set.of("Patient", "Observation", "Goal", "CarePlan", "Condition", "ServiceRequest", "Flag");

  private static final Map<String, Resource> EXAMPLES = examples();

  static Stream<String> names() {
    return EXAMPLES.keySet().stream();
  }

  @ParameterizedTest
  @MethodSource("names")
  void anExampleIsJudgedAlike(String name) {
    assertJudgedAlike(EXAMPLES.get(name));
  }

  static Stream<String> damagedNames() {
    return names().filter(name -> DAMAGED.contains(EXAMPLES.get(name).fhirType()));
  }

  @ParameterizedTest
  @MethodSource("damagedNames")
  void aDamagedExampleIsJudgedAlike(String name) {
    Resource example = EXAMPLES.get(name);
    for (Property property : example.children()) {
      for (Base value : property.getValues()) {
        Resource damaged = example.copy();
        damaged.removeChild(property.getName(), twin(damaged, property, value));
        assertJudgedAlike(damaged);
      }
    }
  }

  /** The value in the copy that stands where the value stands in the original. */
  private static Base twin(Resource copy, Property property, Base value) {
    int index = property.getValues().indexOf(value);
    return copy.getNamedProperty(property.getName()).getValues().get(index);
  }

  @Test
  void aVitalSignInAnotherUnitIsRefused() {
    Observation weight = (Observation) R4.newJsonParser().parseResource(BODY_WEIGHT);
    assertEquals(List.of(), errors(SHORT, weight));
    weight.getValueQuantity().setCode("mm");
    assertTrue(errors(SHORT, weight).toString().contains("'mm'"), errors(SHORT, weight).toString());
    assertJudgedAlike(weight);
  }

  @Test
  void anExtensionOfTheStandardWithAnotherTypeIsRefused() {
    Patient patient = new Patient();
    patient.addExtension(
        "http://hl7.org/fhir/StructureDefinition/patient-birthPlace", new StringType("there"));
    assertFalse(errors(SHORT, patient).isEmpty());
    assertJudgedAlike(patient);
  }

  private static final String BODY_WEIGHT =
      """
      {"resourceType": "Observation", "status": "final",
       "meta": {"profile": ["http://hl7.org/fhir/StructureDefinition/bodyweight"]},
       "category": [{"coding": [{"code": "vital-signs",
         "system": "http://terminology.hl7.org/CodeSystem/observation-category"}]}],
       "code": {"coding": [{"system": "http://loinc.org", "code": "29463-7"}]},
       "subject": {"reference": "Patient/ines-marlow"}, "effectiveDateTime": "2026-05-04",
       "valueQuantity": {"value": 71, "unit": "kg", "system": "http://unitsofmeasure.org",
         "code": "kg"}}""";

  private static void assertJudgedAlike(Resource resource) {
    assertEquals(errors(WHOLE, resource), errors(SHORT, resource));
  }

  private static List<String> errors(RecordCheck check, Resource resource) {
    return check.check(resource, Optional.empty()).stream()
        .filter(RecordCheck.Finding::isError)
        .map(finding -> finding.expression() + ": " + finding.text())
        .sorted()
        .toList();
  }

  private static Map<String, Resource> examples() {
    Map<String, Resource> all = new TreeMap<>();
    try {
      URI folder = R4DefinitionsTest.class.getResource(FOLDER).toURI();
      try (FileSystem jar = FileSystems.newFileSystem(folder, Map.of());
          Stream<Path> files = Files.list(jar.getPath(FOLDER))) {
        for (Path file : files.toList()) {
          if (file.toString().endsWith(".json")) {
            all.put(
                file.getFileName().toString(),
                (Resource) R4.newJsonParser().parseResource(Files.readString(file)));
          }
        }
      }
    } catch (IOException | URISyntaxException e) {
      throw new IllegalStateException(e);
    }
    return all;
  }
}
