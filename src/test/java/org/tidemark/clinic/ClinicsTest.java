package org.tidemark.clinic;

import static org.junit.jupiter.api.Assertions.assertEquals;

import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/** Which clinic is meant by an address. */
class ClinicsTest {
  private static final Clinics CLINICS =
      new Clinics(
          TestSettings.with(
              "tidemark.clinics", "default,north,south,west",
              "tidemark.clinics.north.base-url", "https://north.example/fhir",
              "tidemark.clinics.south.base-url", "http://south.example/fhir",
              "tidemark.clinics.west.base-url", "https://west.example:8443/fhir"));

  @ParameterizedTest
  @CsvSource({
    "north.example, 443, north",
    "North.Example, 80, north",
    "north.example, 8443, default",
    "south.example, 80, south",
    "west.example, 8443, west",
    "west.example, 443, default",
    "elsewhere.example, 443, default",
    "localhost, 8080, default"
  })
  void theHostAndPortOfItsBaseTellAClinic(String host, int port, String clinic) {
    assertEquals(clinic, CLINICS.reachedAt(host, port).id());
  }
}
