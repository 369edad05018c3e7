package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;

import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/** One written form for each thing a reference can point to. */
class ReferencesTest {
  private final References references = new References("http://here.example/fhir/");

  @ParameterizedTest
  @CsvSource({
    "Patient/1, Patient/1",
    "Patient/1/_history/3, Patient/1",
    "http://here.example/fhir/Patient/1, Patient/1",
    "http://here.example/fhir/Patient/1/_history/3, Patient/1",
    "https://there.example/fhir/Patient/1, https://there.example/fhir/Patient/1",
    "https://there.example/fhir/Patient/1/_history/3, https://there.example/fhir/Patient/1",
    "http://here.example/fhirs/Patient/1, http://here.example/fhirs/Patient/1",
    "urn:uuid:7d1a3f7e-0f10-4f0a-9d0e-1f2a3b4c5d6e, urn:uuid:7d1a3f7e-0f10-4f0a-9d0e-1f2a3b4c5d6e",
    "#contained, #contained",
    "https://x.example/PlanDefinition/p|1.0.0, https://x.example/PlanDefinition/p|1.0.0"
  })
  void isNormal(String written, String normal) {
    assertEquals(normal, references.normal(written));
    assertEquals(normal, references.normal(normal));
  }

  @ParameterizedTest
  @CsvSource({
    "Patient/1, true, Patient, 1",
    "https://there.example/fhir/Patient/1, false, Patient, 1",
    "#contained, false, '', ''",
    "urn:uuid:7d1a3f7e-0f10-4f0a-9d0e-1f2a3b4c5d6e, false, '', ''"
  })
  void namesATypeAndAnId(String normal, boolean local, String type, String id) {
    assertEquals(local, References.isLocal(normal));
    assertEquals(type, References.typeOf(normal));
    assertEquals(id, References.idOf(normal));
  }
}
