package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ArrayNode;
import com.fasterxml.jackson.databind.node.ObjectNode;
import com.fasterxml.jackson.databind.node.TextNode;
import io.quarkus.test.junit.QuarkusTest;
import java.io.IOException;
import java.math.BigDecimal;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpRequest.BodyPublishers;
import java.net.http.HttpResponse;
import java.net.http.HttpResponse.BodyHandlers;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Random;
import java.util.TreeMap;
import java.util.stream.Stream;
import org.junit.jupiter.api.Test;
import org.tidemark.application.Types;

/**
 * The examples of the profiles and the demo's records, changed as one who knows FHIR would: values
 * swapped for others of any type, elements left out, doubled, renamed or moved. Each is answered
 * with success or with an OperationOutcome of 4xx.
 */
@QuarkusTest
class MutationTest {
  private static final int SEED = 20_260_413;
  private static final int USUAL = 400;
  private static final ObjectMapper JSON = new ObjectMapper();
  private static final HttpClient CLIENT =
      HttpClient.newBuilder().version(HttpClient.Version.HTTP_1_1).build();

  private static final List<String> VALUES =
      List.of(
          "\"\"",
          "\" \"",
          "\"x\"",
          "null",
          "true",
          "false",
          "0",
          "-1",
          "1",
          "2147483648",
          "1e400",
          "1.50",
          "-0.0000001",
          "[]",
          "{}",
          "[null]",
          "[[]]",
          "[{}]",
          "{\"a\":1}",
          "\"2026-02-30\"",
          "\"2026-04-13\"",
          "\"0000-01-01\"",
          "\"9999-12-31T23:59:60Z\"",
          "\"2026-04-13T08:00:00+14:00\"",
          "\"Patient/nobody\"",
          "\"#x\"",
          "\"urn:uuid:x\"",
          "\"http://[\"",
          "\"https://x.example/|1|2\"",
          "\"\\u0000\"",
          "\"\\ud800\"",
          "\"\ud83e\uddb5\"",
          "\"<div>\"",
          "\"final\"",
          "\"entered-in-error\"",
          "\"active\"",
          "\"completed\"",
          "\"http://loinc.org\"",
          "\"kg\"",
          "{\"reference\":\"Patient/x\"}",
          "{\"value\":1,\"unit\":\"x\"}",
          "{\"coding\":[{\"code\":\"x\"}]}",
          "{\"resourceType\":\"Patient\"}",
          "{\"extension\":[{\"url\":\"x\"}]}",
          "\"aGk=\"");

  private static List<JsonNode> records() throws IOException {
    List<JsonNode> records = new ArrayList<>();
    for (String folder : List.of("fhir-profiles", "demo-bundles")) {
      try (Stream<Path> files = Files.walk(Path.of(folder))) {
        for (Path file : files.filter(f -> f.toString().endsWith(".json")).sorted().toList()) {
          JsonNode record = JSON.readTree(file.toFile());
          if (record.has("resourceType") && Files.size(file) < 100_000) {
            records.add(record);
          }
        }
      }
    }
    return records;
  }

  @Test
  void aChangedRecordIsTakenOrRefused() throws Exception {
    int times = Integer.getInteger("mutations", USUAL);
    Random random = new Random(SEED);
    List<JsonNode> records = records();
    assertTrue(records.size() > 100, records.size() + " records");
    Attack attack = new Attack("changed records");
    Map<Integer, Integer> statuses = new TreeMap<>();
    for (int i = 0; i < times; i++) {
      JsonNode record = records.get(random.nextInt(records.size())).deepCopy();
      int changes = 1 + random.nextInt(3);
      for (int c = 0; c < changes; c++) {
        change(record, random);
      }
      HttpResponse<String> got = send(record, random);
      statuses.merge(got.statusCode(), 1, Integer::sum);
      boolean told = got.body().contains("\"resourceType\":\"OperationOutcome\"");
      attack.tried(
          i + " " + got.request().method() + " " + got.request().uri() + " " + record,
          got.statusCode() >= 500
              || got.statusCode() < 200
              || (got.statusCode() >= 300 && (got.statusCode() < 400 || !told)),
          got.statusCode() + got.body());
    }
    System.out.println("attack: changed records: answers by status " + statuses);
    assertEquals(times, statuses.values().stream().mapToInt(Integer::intValue).sum());
    attack.end(times);
  }

  private static HttpResponse<String> send(JsonNode record, Random random) throws Exception {
    String type =
        record.path("resourceType").isTextual() ? record.get("resourceType").asText() : "Patient";
    String name = type.matches("[A-Za-z]+") ? type : "Patient";
    String path =
        name.equals("Bundle")
            ? "/fhir"
            : switch (Types.WRITTEN.contains(name) ? random.nextInt(8) : 0) {
              case 0 -> "/fhir/" + name + "/$validate";
              case 1 ->
                  "/fhir/"
                      + name
                      + "/"
                      + record.path("id").asText("x").replaceAll("[^A-Za-z0-9.-]", "")
                      + "x";
              case 2 ->
                  name.equals("QuestionnaireResponse")
                      ? "/fhir/QuestionnaireResponse/$extract"
                      : "/fhir/" + name;
              default -> "/fhir/" + name;
            };
    String method = path.matches("/fhir/\\w+/[A-Za-z0-9.-]+") ? "PUT" : "POST";
    return CLIENT.send(
        HttpRequest.newBuilder(URI.create("http://localhost:8081" + path))
            .header("Content-Type", "application/fhir+json")
            .method(method, BodyPublishers.ofString(JSON.writeValueAsString(record)))
            .build(),
        BodyHandlers.ofString());
  }

  /** Makes one change somewhere. */
  private static void change(JsonNode record, Random random) throws IOException {
    List<JsonNode> inner = new ArrayList<>();
    collect(record, inner);
    JsonNode at = inner.get(random.nextInt(inner.size()));
    if (at.isEmpty()) {
      return;
    }
    if (at instanceof ObjectNode object) {
      List<String> names = new ArrayList<>();
      object.fieldNames().forEachRemaining(names::add);
      changeIn(object, names.get(random.nextInt(names.size())), inner, random);
    } else if (at instanceof ArrayNode list) {
      changeIn(list, random.nextInt(list.size()), random);
    }
  }

  private static void changeIn(ObjectNode object, String name, List<JsonNode> inner, Random random)
      throws IOException {
    JsonNode value = object.get(name);
    switch (random.nextInt(7)) {
      case 0 -> object.remove(name);
      case 1 -> object.set(name, JSON.createArrayNode().add(value).add(value));
      case 2 -> object.set("_" + name, JSON.readTree(value(random)));
      case 3 -> object.set(name + "x", object.remove(name));
      case 4 -> object.set(name, inner.get(random.nextInt(inner.size())).deepCopy());
      case 5 -> object.set(name, near(value, random));
      default -> object.set(name, JSON.readTree(value(random)));
    }
  }

  private static void changeIn(ArrayNode list, int at, Random random) throws IOException {
    switch (random.nextInt(4)) {
      case 0 -> list.remove(at);
      case 1 -> list.add(list.get(at).deepCopy());
      case 2 -> list.set(at, near(list.get(at), random));
      default -> list.set(at, JSON.readTree(value(random)));
    }
  }

  /** A number beyond what JSON's reader takes is left to the tests of bad input. */
  private static String value(Random random) {
    String value = VALUES.get(random.nextInt(VALUES.size()));
    return value.equals("1e400") ? "1e40" : value;
  }

  /** A value of the same kind that is a little or very much another. */
  private static JsonNode near(JsonNode value, Random random) {
    if (value.isNumber()) {
      BigDecimal number = value.decimalValue();
      return JSON.getNodeFactory()
          .numberNode(
              random.nextBoolean() ? number.negate() : number.multiply(BigDecimal.valueOf(1000)));
    }
    if (value.isTextual() && !value.asText().isEmpty()) {
      String text = value.asText();
      int cut = random.nextInt(text.length());
      return TextNode.valueOf(
          random.nextBoolean() ? text.substring(0, cut) : text.substring(0, cut) + text);
    }
    return value.isBoolean() ? JSON.getNodeFactory().booleanNode(!value.asBoolean()) : value;
  }

  private static void collect(JsonNode node, List<JsonNode> into) {
    if (node.isContainerNode()) {
      into.add(node);
      node.forEach(child -> collect(child, into));
    }
  }
}
