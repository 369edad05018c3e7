package org.tidemark.exchange;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.node.ArrayNode;
import com.fasterxml.jackson.databind.node.JsonNodeFactory;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.util.UUID;
import org.tidemark.fhir.Texts;

/** A card as it is being written. Members that have no value are left out. */
final class Card {
  private final ObjectNode node = JsonNodeFactory.instance.objectNode();

  /**
   * A card.
   *
   * @param indicator {@code info}, {@code warning} or {@code critical}
   * @param summary one sentence, as plain text
   * @param detail in Markdown
   */
  Card(String indicator, String summary, String detail) {
    node.put("uuid", UUID.randomUUID().toString());
    node.put("summary", CardText.summary(summary));
    node.put("detail", detail);
    node.put("indicator", indicator);
  }

  /** Where it comes from. */
  Card source(String label, String url) {
    node.putObject("source").put("label", label).put("url", url);
    return this;
  }

  /** A page for more. */
  Card link(String label, String url) {
    node.withArray("links").addObject().put("label", label).put("url", url).put("type", "absolute");
    return this;
  }

  /** A change that may be taken; of several at most one. */
  Card suggest(String label, ObjectNode action) {
    node.put("selectionBehavior", "at-most-one");
    ObjectNode suggestion = node.withArray("suggestions").addObject();
    suggestion.put("label", CardText.line(label));
    suggestion.put("uuid", UUID.randomUUID().toString());
    suggestion.putArray("actions").add(action);
    return this;
  }

  /** Reasons to pass it over, by their codes in {@link OverrideReason}. */
  Card overridable(Texts texts) {
    ArrayNode reasons = node.putArray("overrideReasons");
    for (OverrideReason reason : OverrideReason.values()) {
      reasons
          .addObject()
          .put("code", reason.code())
          .put("system", OverrideReason.SYSTEM)
          .put("display", texts.of("override." + reason.code()));
    }
    return this;
  }

  ObjectNode node() {
    return node;
  }

  /** The action that replaces a resource. */
  static ObjectNode update(String description, JsonNode resource) {
    return action("update", description).set("resource", resource);
  }

  /** The action that removes a resource, such as {@code ServiceRequest/a}. */
  static ObjectNode delete(String description, String reference) {
    return action("delete", description).put("resourceId", reference);
  }

  private static ObjectNode action(String type, String description) {
    return JsonNodeFactory.instance
        .objectNode()
        .put("type", type)
        .put("description", CardText.line(description));
  }
}
