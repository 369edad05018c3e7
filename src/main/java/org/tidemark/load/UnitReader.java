package org.tidemark.load;

import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.databind.DeserializationFeature;
import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.net.URLEncoder;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Set;
import java.util.regex.Pattern;

/**
 * Reads a line: a record, which is put under its id or else created unless its identifier is there,
 * or a Bundle of such.
 */
final class UnitReader {
  private static final ObjectMapper JSON =
      new ObjectMapper().enable(DeserializationFeature.FAIL_ON_TRAILING_TOKENS);
  private static final List<String> WHOSE = List.of("subject", "patient", "for", "beneficiary");

  /** What parts the values of a search. */
  private static final Pattern PARTING = Pattern.compile("[,|$\\\\]");

  /** A line that cannot be sent. */
  static final class Unreadable extends Exception {
    private static final long serialVersionUID = 1;

    private final String element;

    Unreadable(String element, String message) {
      super(message);
      this.element = element;
    }

    /** The element that is wrong, empty for the line as a whole. */
    String element() {
      return element;
    }
  }

  private UnitReader() {}

  static Unit read(Unit.Place place, long bytes, String text) throws Unreadable {
    JsonNode line;
    try {
      line = JSON.readTree(text);
    } catch (JsonProcessingException e) {
      throw new Unreadable("", "The line is no JSON: " + e.getOriginalMessage());
    }
    if (!line.path("resourceType").isTextual()) {
      throw new Unreadable("resourceType", "The line is no record.");
    }
    List<String> entries = new ArrayList<>();
    Set<String> writes = new LinkedHashSet<>();
    Set<String> people = new LinkedHashSet<>();
    if (line.path("resourceType").asText().equals("Bundle")) {
      for (int i = 0; i < line.path("entry").size(); i++) {
        String element = "Bundle.entry[" + i + "]";
        JsonNode entry = line.path("entry").get(i);
        ObjectNode request = request(element, entry);
        note(request, writes);
        people.add(about(entry.path("resource")));
        ObjectNode sent = JSON.createObjectNode();
        for (String name : List.of("fullUrl", "resource")) {
          if (entry.has(name)) {
            sent.set(name, entry.get(name));
          }
        }
        entries.add(sent.set("request", request).toString());
      }
    } else {
      ObjectNode request = made(line.path("resourceType").asText(), line);
      note(request, writes);
      people.add(about(line));
      entries.add("{\"resource\":" + text + ",\"request\":" + request + "}");
    }
    return new Unit(
        place, bytes, people.size() == 1 ? people.iterator().next() : "", entries, writes);
  }

  private static void note(JsonNode request, Set<String> writes) {
    String url = request.get("url").asText();
    writes.add(request.has("ifNoneExist") ? url + "?" + request.get("ifNoneExist").asText() : url);
  }

  /** What an entry asks for, which must come to the same when it is asked twice. */
  private static ObjectNode request(String element, JsonNode entry) throws Unreadable {
    JsonNode request = entry.path("request");
    if (request.isMissingNode()) {
      return made(element + ".resource", entry.path("resource"));
    }
    boolean repeatable =
        switch (request.path("method").asText()) {
          case "PUT" -> true;
          case "POST" -> request.has("ifNoneExist");
          default -> false;
        };
    if (!repeatable || !request.path("url").isTextual()) {
      throw new Unreadable(
          element + ".request",
          "Only PUT, and POST with ifNoneExist, can be sent again after a break.");
    }
    return (ObjectNode) request;
  }

  private static ObjectNode made(String element, JsonNode resource) throws Unreadable {
    String type = resource.path("resourceType").asText();
    ObjectNode request = JSON.createObjectNode();
    if (resource.path("id").isTextual()) {
      return request.put("method", "PUT").put("url", type + "/" + resource.get("id").asText());
    }
    String identifier = identifier(resource);
    if (identifier.isEmpty()) {
      throw new Unreadable(
          element, "A record without an id needs an identifier with a system and a value.");
    }
    return request
        .put("method", "POST")
        .put("url", type)
        .put("ifNoneExist", "identifier=" + URLEncoder.encode(identifier, StandardCharsets.UTF_8));
  }

  /**
   * Its first identifier that can be a condition, as {@code system|value}; empty when it has none.
   */
  private static String identifier(JsonNode resource) {
    for (JsonNode each : resource.path("identifier")) {
      String system = each.path("system").asText();
      String value = each.path("value").asText();
      if (!system.isEmpty() && !value.isEmpty()) {
        return escaped(system) + "|" + escaped(value);
      }
    }
    return "";
  }

  private static String about(JsonNode resource) {
    if (resource.path("resourceType").asText().equals("Patient")) {
      return resource.has("id")
          ? "Patient/" + resource.get("id").asText()
          : "Patient?identifier=" + identifier(resource);
    }
    for (String name : WHOSE) {
      JsonNode reference = resource.path(name).path("reference");
      if (reference.isTextual()) {
        return reference.asText();
      }
    }
    return "";
  }

  private static String escaped(String text) {
    return PARTING.matcher(text).replaceAll("\\\\$0");
  }
}
