package org.tidemark.recordsystem;

import com.fasterxml.jackson.databind.JsonNode;
import java.util.HashSet;
import java.util.Set;

/**
 * What a record system says that it can do.
 *
 * @param transactions whether it takes transactions
 * @param types the types of which it creates records
 */
record Statement(boolean transactions, Set<String> types) {
  private static final String INTERACTION = "interaction";

  /**
   * What a CapabilityStatement says. Of a full server's it may be longer than all that is ever read
   * of one, so it is not made a resource.
   *
   * @param json the CapabilityStatement
   */
  static Statement of(JsonNode json) {
    for (JsonNode rest : json.path("rest")) {
      if (rest.path("mode").asText().equals("server")) {
        Set<String> types = new HashSet<>();
        for (JsonNode resource : rest.path("resource")) {
          if (has(resource, "create")) {
            types.add(resource.path("type").asText());
          }
        }
        return new Statement(has(rest, "transaction"), types);
      }
    }
    return new Statement(false, Set.of());
  }

  private static boolean has(JsonNode part, String interaction) {
    for (JsonNode can : part.path(INTERACTION)) {
      if (can.path("code").asText().equals(interaction)) {
        return true;
      }
    }
    return false;
  }
}
