package org.tidemark.fhir;

import com.fasterxml.jackson.core.JsonFactory;
import com.fasterxml.jackson.core.JsonGenerator;
import com.fasterxml.jackson.core.JsonParser;
import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.core.JsonToken;
import com.fasterxml.jackson.core.StreamReadConstraints;
import com.fasterxml.jackson.core.StreamReadFeature;
import com.fasterxml.jackson.core.exc.StreamConstraintsException;
import java.io.ByteArrayOutputStream;
import java.io.IOException;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;

/** Reads JSON into {@link Sent}: strict, with a key once in an object, and to a stated depth. */
final class SentJson {
  private final int depth;
  private final JsonFactory factory;

  /**
   * A reader.
   *
   * @param depth how deep a body may nest
   */
  SentJson(int depth) {
    this.depth = depth;
    this.factory =
        JsonFactory.builder()
            .enable(StreamReadFeature.STRICT_DUPLICATE_DETECTION)
            .streamReadConstraints(
                StreamReadConstraints.builder()
                    .maxNestingDepth(depth)
                    .maxStringLength(Integer.MAX_VALUE)
                    .build())
            .build();
  }

  Sent read(byte[] body) {
    return read(body, json -> object(json, "", false));
  }

  /**
   * A body without one of its lists, and the members of that.
   *
   * @param rest the body without the list
   * @param members where each object of the list stands in the body
   */
  record Parted(byte[] rest, List<Span> members) {}

  /** From one byte up to, but not including, another. */
  record Span(int from, int to) {}

  /** Takes a body apart whose list of objects may be long; none of it is kept as elements. */
  Parted part(byte[] body, String list) {
    return read(body, json -> parted(json, list));
  }

  private Parted parted(JsonParser json, String list) throws IOException {
    ByteArrayOutputStream rest = new ByteArrayOutputStream();
    List<Span> members = new ArrayList<>();
    try (JsonGenerator written = factory.createGenerator(rest)) {
      written.writeStartObject();
      while (json.nextToken() != JsonToken.END_OBJECT) {
        if (json.currentName().equals(list)) {
          members.addAll(spans(json, list));
        } else {
          written.copyCurrentStructure(json);
        }
      }
      written.writeEndObject();
    }
    return new Parted(rest.toByteArray(), members);
  }

  private static List<Span> spans(JsonParser json, String list) throws IOException {
    List<Span> spans = new ArrayList<>();
    if (json.nextToken() != JsonToken.START_ARRAY) {
      throw Problem.of(Problem.Kind.MALFORMED, "'" + list + "' is a list.");
    }
    while (json.nextToken() != JsonToken.END_ARRAY) {
      if (json.currentToken() != JsonToken.START_OBJECT) {
        throw Problem.of(Problem.Kind.MALFORMED, "'" + list + "' is a list of objects.");
      }
      int from = (int) json.currentTokenLocation().getByteOffset();
      json.skipChildren();
      spans.add(new Span(from, (int) json.currentLocation().getByteOffset()));
    }
    return spans;
  }

  /** Reads what follows the first brace, up to the last one. */
  private interface Body<T> {
    T read(JsonParser json) throws IOException;
  }

  private <T> T read(byte[] body, Body<T> what) {
    try (JsonParser json = factory.createParser(body)) {
      if (json.nextToken() != JsonToken.START_OBJECT) {
        throw Problem.of(Problem.Kind.MALFORMED, "The body is not a JSON object.");
      }
      T root = what.read(json);
      if (json.nextToken() != null) {
        throw Problem.of(Problem.Kind.MALFORMED, "The body goes on after the resource.");
      }
      return root;
    } catch (StreamConstraintsException e) {
      throw Problem.of(
          Problem.Kind.MALFORMED,
          "The body nests more than " + depth + " deep, or has a name or number of absurd length.");
    } catch (JsonProcessingException e) {
      String at =
          e.getLocation() == null
              ? ""
              : " (line %d, column %d)"
                  .formatted(e.getLocation().getLineNr(), e.getLocation().getColumnNr());
      throw Problem.of(
          Problem.Kind.MALFORMED, "The body is not valid JSON: " + e.getOriginalMessage() + at);
    } catch (IOException e) {
      throw Problem.of(Problem.Kind.MALFORMED, "The body is not valid UTF-8.");
    }
  }

  private static Sent object(JsonParser json, String name, boolean listed) throws IOException {
    String resourceType = null;
    Map<String, List<Sent>> members = new LinkedHashMap<>();
    while (json.nextToken() != JsonToken.END_OBJECT) {
      String member = json.currentName();
      JsonToken token = json.nextToken();
      if (member.equals("resourceType") && token == JsonToken.VALUE_STRING) {
        resourceType = json.getText();
      } else {
        members.put(member, member(json, member, token));
      }
    }
    return new Sent(name, resourceType, Sent.Kind.OBJECT, listed, null, merged(members));
  }

  private static List<Sent> member(JsonParser json, String name, JsonToken token)
      throws IOException {
    if (token != JsonToken.START_ARRAY) {
      return List.of(value(json, name, token, false));
    }
    List<Sent> values = new ArrayList<>();
    for (JsonToken next = json.nextToken(); next != JsonToken.END_ARRAY; next = json.nextToken()) {
      if (next == JsonToken.START_ARRAY) {
        throw Problem.of(Problem.Kind.MALFORMED, "A JSON array stands in another: " + name + ".");
      }
      values.add(value(json, name, next, true));
    }
    if (values.isEmpty()) {
      throw Problem.of(Problem.Kind.MALFORMED, "A JSON array is empty: " + name + ".");
    }
    return values;
  }

  private static Sent value(JsonParser json, String name, JsonToken token, boolean listed)
      throws IOException {
    return switch (token) {
      case START_OBJECT -> object(json, name, listed);
      case VALUE_STRING -> leaf(name, Sent.Kind.STRING, listed, json.getText());
      case VALUE_NUMBER_INT, VALUE_NUMBER_FLOAT ->
          leaf(name, Sent.Kind.NUMBER, listed, json.getText());
      case VALUE_TRUE, VALUE_FALSE -> leaf(name, Sent.Kind.BOOLEAN, listed, json.getText());
      default -> leaf(name, Sent.Kind.NULL, listed, null);
    };
  }

  private static Sent leaf(String name, Sent.Kind kind, boolean listed, String value) {
    return new Sent(name, null, kind, listed, value, List.of());
  }

  /** Joins {@code _name}, which holds the id and extensions of a primitive, to {@code name}. */
  private static List<Sent> merged(Map<String, List<Sent>> members) {
    List<Sent> children = new ArrayList<>();
    members.forEach(
        (name, values) -> {
          List<Sent> beside = members.getOrDefault("_" + name, List.of());
          boolean isBeside = name.startsWith("_") && name.length() > 1;
          if (!isBeside) {
            for (int i = 0; i < Math.max(values.size(), beside.size()); i++) {
              children.add(merged(at(values, i), at(beside, i)));
            }
          } else if (!members.containsKey(name.substring(1))) {
            String alone = name.substring(1);
            if (values.get(0).listed()) {
              // HAPI's parser does not read it so.
              throw Problem.of(
                  Problem.Kind.MALFORMED,
                  "Beside the array %s, %s must be given, with null for each value that is left out."
                      .formatted(name, alone));
            }
            values.forEach(
                value ->
                    children.add(merged(Optional.empty(), Optional.of(renamed(value, alone)))));
          }
        });
    return children;
  }

  private static Optional<Sent> at(List<Sent> values, int index) {
    return index < values.size() ? Optional.of(values.get(index)) : Optional.empty();
  }

  private static Sent renamed(Sent value, String name) {
    return new Sent(
        name, value.resourceType(), value.kind(), value.listed(), value.value(), value.children());
  }

  private static Sent merged(Optional<Sent> value, Optional<Sent> beside) {
    if (beside.isEmpty() || beside.get().kind() == Sent.Kind.NULL) {
      return value.orElseThrow(
          () -> Problem.of(Problem.Kind.MALFORMED, "A JSON null stands for nothing."));
    }
    Sent extra = beside.get();
    if (extra.kind() != Sent.Kind.OBJECT) {
      throw Problem.of(
          Problem.Kind.MALFORMED, "The member " + extra.name() + " must be a JSON object.");
    }
    boolean empty = value.isEmpty() || value.get().kind() == Sent.Kind.NULL;
    return new Sent(
        value.map(Sent::name).orElse(extra.name()),
        null,
        empty ? Sent.Kind.OBJECT : value.get().kind(),
        extra.listed(),
        empty ? null : value.get().value(),
        extra.children());
  }
}
