package org.tidemark.recordsystem;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;

import io.quarkus.runtime.configuration.ConfigurationException;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.clinic.Clinics;
import org.tidemark.clinic.TestSettings;

/** Settings that say half of what is needed end the start and name what is missing. */
class RecordSystemsTest {
  private static final String SETTING = "tidemark.record-system.";

  @ParameterizedTest(name = "{0}={1}")
  @CsvSource(
      textBlock =
          """
          write-back | true | '' | base-url is needed where tidemark.record-system.write-back is true.
          client-id | tidemark | https://records.example/fhir | token-endpoint is needed where tidemark.record-system.client-id is set.
          pull.from | soon | https://records.example/fhir | pull.from is a moment such as 2026-03-02T18:00:00Z.
          write-back | true | records.example | base-url is an absolute address.
          """,
      delimiter = '|')
  void whatIsMissingIsNamed(String setting, String value, String base, String told) {
    Clinics clinics =
        new Clinics(TestSettings.with(SETTING + setting, value, SETTING + "base-url", base));
    ConfigurationException refused =
        assertThrows(ConfigurationException.class, () -> new RecordSystems(clinics));
    assertEquals(SETTING + told, refused.getMessage());
  }
}
