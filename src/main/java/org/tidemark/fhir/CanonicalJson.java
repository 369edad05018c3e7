package org.tidemark.fhir;

import com.fasterxml.jackson.core.JsonFactory;
import com.fasterxml.jackson.core.JsonParser;
import com.fasterxml.jackson.core.JsonToken;
import com.fasterxml.jackson.core.io.JsonStringEncoder;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.TreeMap;
import java.util.stream.Collectors;

/**
 * R4's canonical JSON of a document, {@value #DOCUMENT}: no white space outside of values, members
 * in alphabetical order, without the id, the meta and the signature of the Bundle itself. Numbers
 * keep their digits.
 */
public final class CanonicalJson {
  /** Names the form, as in {@code Signature.targetFormat}. */
  public static final String DOCUMENT = "http://hl7.org/fhir/canonicalization/json#document";

  private static final String ENTRY = "entry";
  private static final Set<String> UNSIGNED = Set.of("id", "meta", "signature");
  private static final JsonFactory JSON = new JsonFactory();

  private CanonicalJson() {}

  /**
   * The text of a document over which it is signed.
   *
   * @param head the document without its entries, in JSON
   * @param entries its entries, each in JSON
   */
  static String document(String head, List<String> entries) {
    Map<String, String> members = members(head, UNSIGNED);
    members.put(ENTRY, "");
    StringBuilder text = new StringBuilder("{");
    members.forEach(
        (name, value) -> {
          text.append(text.length() == 1 ? "" : ",").append(quoted(name)).append(':').append(value);
          if (name.equals(ENTRY)) {
            append(entries, text);
          }
        });
    return text.append('}').toString();
  }

  private static void append(List<String> entries, StringBuilder text) {
    String separator = "[";
    for (String entry : entries) {
      text.append(separator).append(text(members(entry, Set.of())));
      separator = ",";
    }
    text.append(']');
  }

  /** The text of a document over which it is signed, from its JSON as it was sent. */
  public static String document(String json) {
    return text(members(json, UNSIGNED));
  }

  private static Map<String, String> members(String json, Set<String> without) {
    try (JsonParser parser = JSON.createParser(json)) {
      parser.nextToken();
      return members(parser, without);
    } catch (IOException e) {
      throw new UncheckedIOException("the document is no JSON", e);
    }
  }

  private static String value(JsonParser parser) throws IOException {
    return switch (parser.currentToken()) {
      case START_OBJECT -> text(members(parser, Set.of()));
      case START_ARRAY -> array(parser);
      case VALUE_STRING -> quoted(parser.getText());
      default -> parser.getText();
    };
  }

  private static Map<String, String> members(JsonParser parser, Set<String> without)
      throws IOException {
    Map<String, String> members = new TreeMap<>();
    while (parser.nextToken() != JsonToken.END_OBJECT) {
      String name = parser.currentName();
      parser.nextToken();
      String value = value(parser);
      if (!without.contains(name)) {
        members.put(name, value);
      }
    }
    return members;
  }

  private static String text(Map<String, String> members) {
    return members.entrySet().stream()
        .map(member -> quoted(member.getKey()) + ":" + member.getValue())
        .collect(Collectors.joining(",", "{", "}"));
  }

  private static String array(JsonParser parser) throws IOException {
    List<String> values = new ArrayList<>();
    while (parser.nextToken() != JsonToken.END_ARRAY) {
      values.add(value(parser));
    }
    return "[" + String.join(",", values) + "]";
  }

  private static String quoted(String text) {
    return '"' + new String(JsonStringEncoder.getInstance().quoteAsString(text)) + '"';
  }
}
