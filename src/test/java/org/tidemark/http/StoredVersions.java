package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import io.restassured.response.Response;
import java.io.IOException;
import java.util.Map;
import java.util.Objects;
import java.util.Set;
import java.util.TreeMap;
import java.util.TreeSet;

/** Everything that a service keeps, as it tells it. */
final class StoredVersions {
  private StoredVersions() {}

  /** Every version of every record, as it is sent, by its address. */
  static Map<String, String> all(int port) throws IOException {
    Map<String, String> versions = new TreeMap<>();
    String page = "/fhir/_history?_count=500";
    while (page != null) {
      Response history = given().port(port).get(page);
      assertEquals(200, history.statusCode());
      JsonNode bundle = new ObjectMapper().readTree(history.asByteArray());
      for (JsonNode entry : bundle.get("entry")) {
        String etag = entry.at("/response/etag").asText().replaceAll("\\D", "");
        String address = entry.get("fullUrl").asText() + "/_history/" + etag;
        String path = address.substring(address.indexOf("/fhir/"));
        versions.put(path, given().port(port).get(path).asString());
      }
      page = null;
      for (JsonNode link : bundle.get("link")) {
        if (link.get("relation").asText().equals("next")) {
          String url = link.get("url").asText();
          page = url.substring(url.indexOf("/fhir"));
        }
      }
    }
    return versions;
  }

  /** Names the versions that differ, and not their texts. */
  static void requireSame(Map<String, String> expected, Map<String, String> found) {
    TreeSet<String> addresses = new TreeSet<>(expected.keySet());
    addresses.addAll(found.keySet());
    addresses.removeIf(address -> Objects.equals(expected.get(address), found.get(address)));
    assertEquals(Set.of(), addresses);
  }
}
