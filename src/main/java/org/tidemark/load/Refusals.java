package org.tidemark.load;

import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ArrayNode;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.nio.file.StandardOpenOption;
import java.util.List;

/** The list of lines that were refused: one JSON object a line, with file, line and elements. */
final class Refusals {
  private static final ObjectMapper JSON = new ObjectMapper();
  private static final String ALONE = "Bundle.entry[0].resource";

  private final Path list;
  private final List<Path> files;
  private long count;

  Refusals(Path list, List<Path> files) {
    this.list = list;
    this.files = files;
  }

  /** Lists a line that was not sent. */
  void add(Unit.Place place, UnitReader.Unreadable why) throws IOException {
    ObjectNode issue = JSON.createObjectNode();
    issue.put("severity", "error").put("code", "invalid").put("diagnostics", why.getMessage());
    if (!why.element().isEmpty()) {
      issue.putArray("expression").add(why.element());
    }
    ObjectNode outcome = JSON.createObjectNode().put("resourceType", "OperationOutcome");
    outcome.putArray("issue").add(issue);
    write(place, 0, outcome);
  }

  /** Lists a line that the service refused when it was sent alone. */
  void add(Unit unit, Endpoint.Answer answer) throws IOException {
    String type = unit.writes().iterator().next().split("[/?]")[0];
    JsonNode outcome = outcome(answer.body());
    if (unit.entries().size() == 1) {
      for (JsonNode issue : outcome.path("issue")) {
        ArrayNode places = issue.path("expression") instanceof ArrayNode all ? all : null;
        for (int i = 0; places != null && i < places.size(); i++) {
          places.set(i, JSON.getNodeFactory().textNode(own(places.get(i).asText(), type)));
        }
      }
    }
    write(unit.place(), answer.status(), outcome);
  }

  /** A line with one record is known by its own elements, not by those of what it was sent in. */
  private static String own(String expression, String type) {
    return expression.startsWith(ALONE) ? type + expression.substring(ALONE.length()) : expression;
  }

  private static JsonNode outcome(String body) {
    try {
      return JSON.readTree(body);
    } catch (JsonProcessingException none) {
      return JSON.getNodeFactory().textNode(body);
    }
  }

  private synchronized void write(Unit.Place place, int status, JsonNode outcome)
      throws IOException {
    ObjectNode line = JSON.createObjectNode();
    line.put("file", files.get(place.file()).toString()).put("line", place.line());
    if (status > 0) {
      line.put("status", status);
    }
    ArrayNode elements = line.putArray("elements");
    outcome
        .path("issue")
        .forEach(issue -> issue.path("expression").forEach(each -> elements.add(each.asText())));
    line.set("outcome", outcome);
    Files.writeString(list, line + "\n", StandardOpenOption.CREATE, StandardOpenOption.APPEND);
    count++;
  }

  synchronized long count() {
    return count;
  }
}
