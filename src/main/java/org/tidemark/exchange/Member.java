package org.tidemark.exchange;

import com.fasterxml.jackson.databind.JsonNode;
import java.net.URI;
import java.net.URISyntaxException;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.regex.Pattern;

/**
 * A member of a body, with its place in it. Whatever is not of the kind that is asked for is
 * refused by that place.
 *
 * @param path such as {@code context.selections[0]}
 * @param node what stands there; missing when nothing does
 */
record Member(String path, JsonNode node) {
  private static final Pattern UUID =
      Pattern.compile("[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}");

  /** A member of this object. */
  Member at(String name) {
    return new Member(path.isEmpty() ? name : path + "." + name, node.path(name));
  }

  /** Whether it stands there; null counts as not. */
  boolean isGiven() {
    return !node.isMissingNode() && !node.isNull();
  }

  /** This, when it stands there. */
  Optional<Member> given() {
    return isGiven() ? Optional.of(this) : Optional.empty();
  }

  /** An object that is required. */
  Member object() {
    return required(node.isObject(), "an object");
  }

  /** A text that is required and not blank. */
  String text() {
    required(node.isTextual(), "a string");
    if (node.textValue().isBlank()) {
      throw HookProblem.malformed(path, "'" + path + "' is empty.");
    }
    return node.textValue();
  }

  /** A text of at most so many characters. */
  String text(int most) {
    String text = text();
    if (text.length() > most) {
      throw HookProblem.malformed(path, "'" + path + "' has more than " + most + " characters.");
    }
    return text;
  }

  /** A UUID. */
  String uuid() {
    String text = text();
    if (!UUID.matcher(text).matches()) {
      throw HookProblem.malformed(path, "'" + path + "' is not a UUID.");
    }
    return text;
  }

  /** An absolute http or https address. */
  String url() {
    String text = text();
    try {
      URI uri = new URI(text);
      if (uri.getHost() != null && List.of("http", "https").contains(uri.getScheme())) {
        return text;
      }
    } catch (URISyntaxException notOne) {
      throw HookProblem.malformed(path, "'" + path + "' is not a URL.");
    }
    throw HookProblem.malformed(path, "'" + path + "' is not an absolute http or https URL.");
  }

  /** The elements of an array that is required and not empty. */
  List<Member> elements() {
    required(node.isArray(), "an array");
    if (node.isEmpty()) {
      throw HookProblem.malformed(path, "'" + path + "' is empty.");
    }
    return listed();
  }

  /** The elements of an array, none where there is no array. */
  List<Member> listed() {
    List<Member> elements = new ArrayList<>();
    for (int i = 0; i < node.size() && node.isArray(); i++) {
      elements.add(new Member(path + "[" + i + "]", node.get(i)));
    }
    return elements;
  }

  private Member required(boolean fits, String kind) {
    if (!isGiven()) {
      throw HookProblem.malformed(path, "'" + path + "' is required.");
    }
    if (!fits) {
      throw HookProblem.malformed(path, "'" + path + "' must be " + kind + ".");
    }
    return this;
  }
}
