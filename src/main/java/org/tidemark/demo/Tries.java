package org.tidemark.demo;

import java.util.List;

/** What to try by hand once the demo has been told. */
public final class Tries {
  static final String PERSON = "liesbet-quarmby";

  /** A session that hurt, the day after the diary ends: the plan is eased at once. */
  public static final String SORE_SESSION =
      "{\"resourceType\":\"Observation\",\"status\":\"final\","
          + "\"code\":{\"coding\":[{\"system\":\"https://tidemark.example/fhir/CodeSystem/report-item\","
          + "\"code\":\"session\"}]},"
          + "\"subject\":{\"reference\":\"Patient/liesbet-quarmby\"},"
          + "\"bodySite\":{\"coding\":[{\"system\":\"http://snomed.info/sct\",\"code\":\"6757004\"}]},"
          + "\"effectiveDateTime\":\"2026-08-03T18:00:00+01:00\","
          + "\"component\":[{\"code\":{\"coding\":[{\"system\":"
          + "\"https://tidemark.example/fhir/CodeSystem/report-item\",\"code\":\"pain-during\"}]},"
          + "\"valueQuantity\":{\"value\":7,\"system\":\"http://unitsofmeasure.org\",\"code\":\"{score}\"}}]}";

  private Tries() {}

  /**
   * Three lines for a shell: what is prescribed, a session that hurt, what came of it.
   *
   * @param base the address of the endpoint
   */
  static List<String> curls(String base) {
    return List.of(
        "curl -s '" + base + "/CarePlan/" + PERSON + "-plan'",
        "curl -s -H 'Content-Type: application/fhir+json' '"
            + base
            + "/Observation' -d '"
            + SORE_SESSION
            + "'",
        "curl -s '"
            + base
            + "/GuidanceResponse?patient=Patient/"
            + PERSON
            + "&_sort=-_lastUpdated&_count=1'");
  }
}
