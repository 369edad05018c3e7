package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.context.FhirContext;
import java.nio.charset.StandardCharsets;
import java.util.List;
import org.hl7.fhir.r4.model.Bundle;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/** Documents that are taken apart, against HAPI's reading of the whole. */
class SentDocumentTest {
  private static final FhirContext R4 = FhirContext.forR4Cached();
  private static final String HEAD =
      "{\"resourceType\":\"Bundle\",\"type\":\"document\",\"timestamp\":\"2026-03-02T18:00:00Z\"";
  private static final String FIRST =
      "{\"fullUrl\":\"https://a.example/Patient/a\",\"resource\":{\"resourceType\":\"Patient\","
          + "\"id\":\"a\",\"name\":[{\"family\":\"Brändvik } ] \\\"[\"}]}}";
  private static final String SECOND =
      "{\"fullUrl\":\"https://a.example/Flag/b\",\"resource\":{\"resourceType\":\"Flag\","
          + "\"id\":\"b\",\"status\":\"active\",\"code\":{\"text\":\"x\"},"
          + "\"subject\":{\"reference\":\"Patient/a\"}}}";

  private static SentDocument sent(String json) {
    return new SentDocument(R4, 40, json.getBytes(StandardCharsets.UTF_8));
  }

  private static String text(Bundle bundle) {
    return R4.newJsonParser().encodeResourceToString(bundle);
  }

  @ParameterizedTest
  @ValueSource(
      strings = {
        HEAD + ",\"entry\":[" + FIRST + "," + SECOND + "]}",
        "{\"entry\" : [ "
            + SECOND
            + " ,\n "
            + FIRST
            + " ] , \"type\":\"document\","
            + "\"resourceType\":\"Bundle\"}",
        HEAD + "}"
      })
  void aDocumentInPartsIsTheWhole(String json) {
    assertEquals(
        text(R4.newJsonParser().parseResource(Bundle.class, json)), text(sent(json).whole()));
    assertFalse(sent(json).head().hasEntry());
  }

  @Test
  void whatIsWrongNamesItsEntry() {
    SentDocument sent =
        sent(
            HEAD + ",\"entry\":[" + FIRST + "," + SECOND.replace("\"status\"", "\"state\"") + "]}");
    Problem problem = assertThrows(Problem.class, sent::whole);
    List<String> named =
        problem.issues().stream().flatMap(issue -> issue.expressions().stream()).toList();
    assertTrue(named.contains("Bundle.entry[1].resource.state"), named.toString());
    assertTrue(named.contains("Bundle.entry[1].resource.status"), named.toString());
  }

  @ParameterizedTest
  @ValueSource(
      strings = {
        "",
        "[]",
        HEAD,
        HEAD + ",\"entry\":{}}",
        HEAD + ",\"entry\":[1]}",
        HEAD + ",\"entry\":[" + FIRST + "],\"entry\":[" + SECOND + "]}",
        HEAD + ",\"entry\":[" + FIRST + "}",
        HEAD + ",\"entri\":[]}",
        "{\"resourceType\":\"Patient\"}",
      })
  void whatIsNoDocumentIsRefused(String json) {
    assertThrows(Problem.class, () -> sent(json));
  }
}
