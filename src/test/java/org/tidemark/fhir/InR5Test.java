package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.context.FhirContext;
import java.util.Map;
import java.util.stream.Stream;
import org.hl7.fhir.convertors.factory.VersionConvertorFactory_40_50;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Resource;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;
import org.junit.jupiter.params.provider.ValueSource;

/** What R4 says is all there in R5. The way back is HAPI's, which knows nothing of ours. */
class InR5Test {
  private static final FhirContext R4 = FhirContext.forR4Cached();
  private static final FhirContext R5 = FhirContext.forR5Cached();

  /** What has no way back, by what is found in R5. */
  private static final Map<String, String> MOVED =
      Map.of(
          "Goal.expressedBy",
          "\"source\":{\"reference\":\"Patient/1\"}",
          "DocumentReference.masterIdentifier",
          "\"identifier\":[{\"value\":\"a\"}]",
          "DocumentReference.content.format",
          "\"profile\":[{\"valueCoding\":{\"system\":\"http://codes.example\",\"code\":\"a\"}}]",
          "DocumentReference.context.related",
          extension("DocumentReference.context.related") + "\"valueReference\"",
          "DocumentReference.context.sourcePatientInfo",
          extension("DocumentReference.context.sourcePatientInfo") + "\"valueReference\"");

  /** R5 has the data type Contributor no more. */
  private static final String GONE = ".valueContributor";

  private static final String DETAIL = "CarePlan.activity.detail.";

  /** How an element of R4 begins as FHIR writes it in another version. */
  private static String extension(String element) {
    return "{\"url\":\"http://hl7.org/fhir/4.0/StructureDefinition/extension-" + element + "\",";
  }

  static Stream<EveryElement.Filled> elements() {
    return InR5.TYPES.stream()
        .flatMap(EveryElement::of)
        .filter(filled -> !filled.path().endsWith(GONE));
  }

  @ParameterizedTest
  @ValueSource(strings = {"Task.input", "Task.output"})
  void aTypeOfDataThatR5DoesNotKnowIsRefused(String at) {
    Resource task =
        EveryElement.of("Task")
            .filter(filled -> filled.path().equals(at + GONE))
            .findFirst()
            .orElseThrow()
            .resource();
    Problem refused = assertThrows(Problem.class, () -> InR5.of(task));
    assertEquals(Problem.Kind.UNSUPPORTED.status(), refused.status());
  }

  @ParameterizedTest
  @MethodSource("elements")
  void noElementIsDropped(EveryElement.Filled filled) {
    org.hl7.fhir.r5.model.Resource inR5 = InR5.of(filled.resource());
    if (filled.path().startsWith(DETAIL)) {
      String name =
          filled.path().substring(DETAIL.length()).replaceFirst("^(scheduled|product).*", "$1");
      assertFound(
          inR5,
          extension("CarePlan.activity.detail")
              + "\"extension\":[{\"url\":\""
              + name
              + "\",\"value");
    } else if (MOVED.containsKey(filled.path())) {
      assertFound(inR5, MOVED.get(filled.path()));
    } else {
      assertEquals(
          text(filled.resource()), text(VersionConvertorFactory_40_50.convertResource(inR5)));
    }
  }

  @Test
  void thereAreElements() {
    assertTrue(elements().count() > 400, "elements: " + elements().count());
  }

  @Test
  void theExamplesOfOurProfilesLoseNothingInABundle() {
    Bundle bundle = new Bundle();
    bundle.setType(Bundle.BundleType.COLLECTION);
    ProfileFiles.examples().values().stream()
        .filter(example -> InR5.TYPES.contains(example.fhirType()))
        .forEach(example -> bundle.addEntry().setResource(example));
    assertTrue(bundle.getEntry().size() > 3);
    assertEquals(
        text(bundle), text(VersionConvertorFactory_40_50.convertResource(InR5.of(bundle))));
  }

  private static void assertFound(org.hl7.fhir.r5.model.Resource inR5, String part) {
    String text = R5.newJsonParser().encodeResourceToString(inR5);
    assertTrue(text.contains(part), part + " in " + text);
  }

  private static String text(Resource resource) {
    return R4.newJsonParser().encodeResourceToString(resource);
  }
}
