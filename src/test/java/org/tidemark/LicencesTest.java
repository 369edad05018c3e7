package org.tidemark;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.File;
import java.io.IOException;
import java.util.ArrayList;
import java.util.List;
import java.util.Set;
import java.util.stream.StreamSupport;
import org.junit.jupiter.api.Test;

/**
 * What the service is made of, by the bill of materials that the build writes (CycloneDX 1.6), may
 * be shipped with it: each part has a licence of this list, or lets us choose one of it.
 */
class LicencesTest {
  private static final File BILL = new File("target/tidemark-sbom.json");

  /**
   * Identifiers of SPDX, and names under which some parts give no identifier. From EPL on they ask
   * that changes to the part itself are published; we change none.
   */
  private static final Set<String> ALLOWED =
      Set.of(
          "Apache-2.0",
          "Apache Software License 2.0",
          "BSD-2-Clause",
          "BSD-3-Clause",
          "MIT",
          "MIT-0",
          "Unicode-3.0",
          "Public Domain",
          "CC0-1.0",
          "EPL-2.0",
          "EPL 1.0",
          "MPL-2.0",
          "Mozilla Public License Version 2.0",
          "LGPL-2.1-or-later");

  /**
   * Parts whose own statement is not exact. JLine says "The BSD License", which the bill takes for
   * the one with four clauses; the address that it gives is that of three.
   */
  private static final Set<String> LOOKED_AT =
      Set.of("org.jline:jline-terminal", "org.jline:jline-native");

  @Test
  void eachPartMayBeShipped() throws IOException {
    JsonNode parts = new ObjectMapper().readTree(BILL).get("components");
    assertTrue(parts.size() > 200, "the bill lists only " + parts.size() + " parts");
    List<String> refused = new ArrayList<>();
    for (JsonNode part : parts) {
      List<String> licences =
          StreamSupport.stream(part.path("licenses").spliterator(), false)
              .map(LicencesTest::licence)
              .toList();
      String name = part.get("group").asText() + ":" + part.get("name").asText();
      if (licences.stream().noneMatch(ALLOWED::contains) && !LOOKED_AT.contains(name)) {
        refused.add(name + " " + licences);
      }
    }
    assertEquals(List.of(), refused);
  }

  @Test
  void whatIsOnlyForTestsIsNotListed() throws IOException {
    JsonNode parts = new ObjectMapper().readTree(BILL).get("components");
    assertTrue(
        StreamSupport.stream(parts.spliterator(), false)
            .noneMatch(part -> part.get("name").asText().startsWith("junit")));
  }

  private static String licence(JsonNode entry) {
    JsonNode licence = entry.path("license");
    return entry.has("expression")
        ? entry.get("expression").asText()
        : licence.path("id").asText(licence.path("name").asText());
  }
}
