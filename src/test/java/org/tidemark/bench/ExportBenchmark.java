package org.tidemark.bench;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.IOException;
import java.io.InputStream;
import java.lang.management.ManagementFactory;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpRequest.BodyPublishers;
import java.net.http.HttpResponse;
import java.net.http.HttpResponse.BodyHandlers;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Locale;
import java.util.UUID;
import java.util.stream.Stream;

/**
 * Times an export of a running service on the same machine: how long it takes to be divided into
 * files, how many resources a second are then sent, and, where Linux tells it, how much memory the
 * service has at the most meanwhile.
 */
public final class ExportBenchmark {
  private static final ObjectMapper JSON = new ObjectMapper();
  private static final int IN_A_TRANSACTION = 1_000;
  private static final int OF_EACH = 500;
  private static final long POLL_MS = 100;

  private final HttpClient client =
      HttpClient.newBuilder().version(HttpClient.Version.HTTP_1_1).build();
  private final String base;

  private ExportBenchmark(String base) {
    this.base = base;
  }

  /**
   * Measures a running service.
   *
   * @param args its base ({@code http://localhost:8080/fhir}), how many Observations are stored
   *     before (100000), and the number of its process (none: its memory is not told)
   */
  public static void main(String[] args) throws IOException, InterruptedException {
    String base = args.length > 0 ? args[0] : "http://localhost:8080/fhir";
    int kept = args.length > 1 ? Integer.parseInt(args[1]) : 100_000;
    String process = args.length > 2 ? args[2] : "";
    new ExportBenchmark(base).run(kept, process);
  }

  private void run(int kept, String process) throws IOException, InterruptedException {
    say(
        "%d processors, JDK %s, load average %.1f",
        Runtime.getRuntime().availableProcessors(),
        Runtime.version(),
        ManagementFactory.getOperatingSystemMXBean().getSystemLoadAverage());
    fill(kept);
    say("memory %s", memory(process));
    for (int round = 1; round <= 3; round++) {
      export();
      say("memory %s", memory(process));
    }
  }

  private void fill(int kept) throws IOException, InterruptedException {
    String person = "";
    for (int sent = 0; sent < kept; sent += IN_A_TRANSACTION) {
      if (sent % OF_EACH == 0) {
        person = UUID.randomUUID().toString();
        send("PUT", "/Patient/" + person, "{\"resourceType\":\"Patient\",\"id\":\"%s\"}", person);
      }
      StringBuilder entries = new StringBuilder();
      for (int i = 0; i < IN_A_TRANSACTION; i++) {
        entries.append(i == 0 ? "" : ",").append(entry(person, sent + i));
      }
      send(
          "POST",
          "",
          "{\"resourceType\":\"Bundle\",\"type\":\"transaction\",\"entry\":[%s]}",
          entries.toString());
    }
  }

  private static String entry(String person, int number) {
    return ("{\"resource\":{\"resourceType\":\"Observation\",\"status\":\"final\",\"code\":{"
            + "\"coding\":[{\"system\":\"http://loinc.org\",\"code\":\"8867-4\"}]},\"subject\":{"
            + "\"reference\":\"Patient/%s\"},\"effectiveDateTime\":\"2026-03-02T18:00:00Z\","
            + "\"valueQuantity\":{\"value\":%d,\"system\":\"http://unitsofmeasure.org\",\"code\":"
            + "\"/min\"}},\"request\":{\"method\":\"POST\",\"url\":\"Observation\"}}")
        .formatted(person, 60 + number % 60);
  }

  private void send(String method, String path, String body, String filling)
      throws IOException, InterruptedException {
    HttpResponse<String> answer =
        client.send(
            HttpRequest.newBuilder(URI.create(base + path))
                .header("Content-Type", "application/fhir+json")
                .method(method, BodyPublishers.ofString(body.formatted(filling)))
                .build(),
            BodyHandlers.ofString());
    if (answer.statusCode() / 100 != 2) {
      throw new IOException(method + " was answered with " + answer.statusCode());
    }
  }

  private void export() throws IOException, InterruptedException {
    long began = System.nanoTime();
    HttpResponse<String> begun =
        client.send(
            HttpRequest.newBuilder(URI.create(base + "/$export"))
                .header("Prefer", "respond-async")
                .build(),
            BodyHandlers.ofString());
    URI place = URI.create(begun.headers().firstValue("Content-Location").orElseThrow());
    HttpResponse<String> standing = get(place);
    while (standing.statusCode() == 202) {
      Thread.sleep(POLL_MS);
      standing = get(place);
    }
    double divided = seconds(began);
    JsonNode manifest = JSON.readTree(standing.body());
    long resources = 0;
    long bytes = 0;
    began = System.nanoTime();
    for (JsonNode file : manifest.get("output")) {
      long sent = length(URI.create(file.get("url").asText()));
      bytes += sent;
      resources += file.get("count").asLong();
    }
    double took = seconds(began);
    say(
        "%d resources in %d files: divided in %.1f s, sent in %.1f s: %.0f a second, %.1f MB a"
            + " second",
        resources,
        manifest.get("output").size(),
        divided,
        took,
        resources / took,
        bytes / took / 1e6);
  }

  private HttpResponse<String> get(URI address) throws IOException, InterruptedException {
    return client.send(HttpRequest.newBuilder(address).build(), BodyHandlers.ofString());
  }

  private long length(URI address) throws IOException, InterruptedException {
    HttpResponse<InputStream> file =
        client.send(HttpRequest.newBuilder(address).build(), BodyHandlers.ofInputStream());
    try (InputStream body = file.body()) {
      return body.transferTo(java.io.OutputStream.nullOutputStream());
    }
  }

  private static double seconds(long began) {
    return (System.nanoTime() - began) / 1e9;
  }

  /** What the process has now, and what it has had at the most. */
  private static String memory(String process) throws IOException {
    Path status = Path.of("/proc", process.isEmpty() ? "none" : process, "status");
    if (!Files.exists(status)) {
      return "not told";
    }
    try (Stream<String> lines = Files.lines(status)) {
      return lines
          .filter(line -> line.startsWith("VmHWM") || line.startsWith("VmRSS"))
          .map(line -> line.replaceAll("\\s+", " "))
          .toList()
          .toString();
    }
  }

  private static void say(String format, Object... values) {
    System.out.println(String.format(Locale.ROOT, format, values));
  }
}
