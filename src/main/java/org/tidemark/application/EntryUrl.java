package org.tidemark.application;

import java.net.URLDecoder;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import org.tidemark.fhir.Problem;

/**
 * The address in {@code Bundle.entry.request.url}, relative to the server.
 *
 * @param type the resource type
 * @param id the id, or empty
 * @param version the version, or empty
 * @param query the search parameters
 */
record EntryUrl(String type, String id, String version, Map<String, List<String>> query) {

  private static final String EXPRESSION = "Bundle.entry.request.url";

  static EntryUrl read(String url, String base) {
    String relative = url.startsWith(base) ? url.substring(base.length()) : url;
    relative = relative.startsWith("/") ? relative.substring(1) : relative;
    int mark = relative.indexOf('?');
    String path = mark < 0 ? relative : relative.substring(0, mark);
    String[] steps = path.split("/", -1);
    boolean versioned = steps.length == 4 && steps[2].equals("_history");
    if (steps[0].isEmpty() || (steps.length > 2 && !versioned)) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST, "The address '" + path + "' is not one of this server.");
    }
    return new EntryUrl(
        steps[0],
        steps.length > 1 ? steps[1] : "",
        versioned ? steps[3] : "",
        mark < 0 ? Map.of() : query(relative.substring(mark + 1)));
  }

  /** The record to change: by the id, or by the search as a condition. */
  Address address() {
    if (!id.isEmpty()) {
      return Address.of(type, id);
    }
    if (query.isEmpty()) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST, "The address needs an id or a condition.", EXPRESSION);
    }
    return Address.matching(type, Condition.of(query, EXPRESSION));
  }

  private static Map<String, List<String>> query(String text) {
    Map<String, List<String>> query = new LinkedHashMap<>();
    for (String pair : text.split("&")) {
      int equals = pair.indexOf('=');
      if (equals > 0) {
        query
            .computeIfAbsent(decoded(pair.substring(0, equals)), name -> new ArrayList<>())
            .add(decoded(pair.substring(equals + 1)));
      }
    }
    return query;
  }

  private static String decoded(String text) {
    try {
      return URLDecoder.decode(text, StandardCharsets.UTF_8);
    } catch (IllegalArgumentException e) {
      throw Problem.of(Problem.Kind.BAD_REQUEST, "The address is not properly percent-encoded.");
    }
  }
}
