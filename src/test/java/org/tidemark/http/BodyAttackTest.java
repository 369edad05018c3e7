package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.io.ByteArrayOutputStream;
import java.io.IOException;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpRequest.BodyPublishers;
import java.net.http.HttpResponse;
import java.net.http.HttpResponse.BodyHandlers;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.concurrent.atomic.AtomicInteger;
import java.util.zip.GZIPOutputStream;
import org.junit.jupiter.api.Test;

/** Bodies that are meant to read files, to reach other systems or to use the service up. */
@QuarkusTest
class BodyAttackTest {
  private static final HttpClient CLIENT = HttpClient.newHttpClient();
  private static final String JSON = "application/fhir+json";
  private static final String XML = "application/fhir+xml";
  private static final String NAMESPACE = "http://hl7.org/fhir";

  /** Every place that parses what a client sends. */
  private static final List<String> PLACES =
      List.of(
          "/fhir",
          "/fhir/Patient",
          "/fhir/Observation/$validate",
          "/fhir/PlanDefinition/x/$apply",
          "/fhir/QuestionnaireResponse/$extract",
          "/fhir/$receive-handover");

  private static HttpResponse<String> send(String place, String type, byte[] body, String... more)
      throws IOException, InterruptedException {
    HttpRequest.Builder request =
        HttpRequest.newBuilder(URI.create("http://localhost:8081" + place))
            .header("Content-Type", type)
            .POST(BodyPublishers.ofByteArray(body));
    if (more.length > 0) {
      request.headers(more);
    }
    return CLIENT.send(request.build(), BodyHandlers.ofString());
  }

  private static byte[] bytes(String text) {
    return text.getBytes(StandardCharsets.UTF_8);
  }

  /** OWASP, XML External Entity Prevention: files, addresses, parameter entities, XInclude. */
  @Test
  void externalEntities() throws Exception {
    Attack attack = new Attack("XML external entities");
    Path secret = Files.createTempFile("secret", ".txt");
    Files.writeString(secret, "OPEN-SESAME");
    AtomicInteger asked = new AtomicInteger();
    com.sun.net.httpserver.HttpServer inside =
        com.sun.net.httpserver.HttpServer.create(new java.net.InetSocketAddress("127.0.0.1", 0), 0);
    inside.createContext(
        "/",
        exchange -> {
          asked.incrementAndGet();
          exchange.sendResponseHeaders(200, -1);
          exchange.close();
        });
    inside.start();
    String at = "http://127.0.0.1:" + inside.getAddress().getPort() + "/x.dtd";
    String language = "<language value=\"&e;\"/>";
    try {
      for (String address : List.of(secret.toUri().toString(), at)) {
        for (String head :
            List.of(
                "<!DOCTYPE x [<!ENTITY e SYSTEM \"" + address + "\">]>",
                "<!DOCTYPE x [<!ENTITY e PUBLIC \"x\" \"" + address + "\">]>",
                "<!DOCTYPE x SYSTEM \"" + address + "\">",
                "<!DOCTYPE x [<!ENTITY % p SYSTEM \"" + address + "\"> %p;]>",
                "<?xml-stylesheet href=\"" + address + "\"?>",
                "")) {
          for (String inner :
              List.of(
                  language,
                  "<xi:include xmlns:xi=\"http://www.w3.org/2001/XInclude\" href=\""
                      + address
                      + "\" parse=\"text\"/>",
                  "<text><status value=\"generated\"/><div xmlns=\"http://www.w3.org/1999/xhtml\">&e;</div></text>")) {
            for (String place : PLACES) {
              String body = head + "<Patient xmlns=\"" + NAMESPACE + "\">" + inner + "</Patient>";
              HttpResponse<String> got = send(place, XML, bytes(body));
              attack.tried(
                  place + " " + body,
                  got.body().contains("SESAME")
                      || got.statusCode() >= 500
                      || got.statusCode() < 300,
                  got.statusCode() + got.body());
            }
          }
        }
      }
      HttpResponse<String> script =
          send(
              "/fhir/Patient",
              JSON,
              bytes(
                  "{\"resourceType\":\"Patient\",\"text\":{\"status\":\"generated\",\"div\":\"<!DOCTYPE x"
                      + " [<!ENTITY e SYSTEM '"
                      + secret.toUri()
                      + "'>]><div"
                      + " xmlns='http://www.w3.org/1999/xhtml'>&e;</div>\"}}"));
      attack.tried(
          "narrative",
          script.body().contains("SESAME") || script.statusCode() < 400,
          script.body());
    } finally {
      inside.stop(0);
    }
    assertEquals(0, asked.get(), "the service asked another one");
    attack.end(200);
  }

  /** Entities that grow when they are read: the billion laughs and the quadratic blow-up. */
  @Test
  void entityBombs() throws Exception {
    Attack attack = new Attack("entity bombs");
    StringBuilder laughs = new StringBuilder("<!DOCTYPE x [<!ENTITY a0 \"ha\">");
    for (int i = 1; i < 30; i++) {
      laughs.append("<!ENTITY a%d \"%s\">".formatted(i, "&a%d;".formatted(i - 1).repeat(10)));
    }
    laughs.append("]>");
    String quadratic = "<!DOCTYPE x [<!ENTITY e \"" + "a".repeat(100_000) + "\">]>";
    for (String place : PLACES) {
      for (String body :
          List.of(
              laughs + "<Patient xmlns=\"" + NAMESPACE + "\"><language value=\"&a29;\"/></Patient>",
              quadratic
                  + "<Patient xmlns=\""
                  + NAMESPACE
                  + "\"><language value=\""
                  + "&e;".repeat(10_000)
                  + "\"/></Patient>")) {
        HttpResponse<String> got = send(place, XML, bytes(body));
        attack.tried(place, got.statusCode() >= 500 || got.statusCode() < 400, got.body());
      }
    }
    attack.end(12);
  }

  /** Elements in elements, in either format, for each place and several ways to nest. */
  @Test
  void deepNesting() throws Exception {
    Attack attack = new Attack("deep nesting");
    for (int depth : List.of(250, 2_000, 50_000)) {
      List<String> json =
          List.of(
              "[".repeat(depth) + "]".repeat(depth),
              "{\"resourceType\":\"Patient\",\"a\":".repeat(depth) + "1" + "}".repeat(depth),
              "{\"resourceType\":\"Patient\",\"contained\":[".repeat(depth) + "]}".repeat(depth),
              "{\"resourceType\":\"Bundle\",\"type\":\"batch\",\"entry\":[{\"resource\":"
                      .repeat(depth)
                  + "{}"
                  + "}]}".repeat(depth),
              "{\"resourceType\":\"Parameters\",\"parameter\":[{\"name\":\"a\",\"part\":["
                  + "{\"name\":\"a\",\"part\":[".repeat(depth)
                  + "]}".repeat(depth)
                  + "]}]}");
      String xml =
          "<Patient xmlns=\""
              + NAMESPACE
              + "\">"
              + "<extension url=\"u\">".repeat(depth)
              + "</extension>".repeat(depth)
              + "</Patient>";
      String narrative =
          "{\"resourceType\":\"Patient\",\"text\":{\"status\":\"generated\",\"div\":\"<div"
              + " xmlns='http://www.w3.org/1999/xhtml'>"
              + "<b>".repeat(depth)
              + "</b>".repeat(depth)
              + "</div>\"}}";
      for (String place : PLACES) {
        for (String body : json) {
          HttpResponse<String> got = send(place, JSON, bytes(body));
          attack.tried(place + depth + body.substring(0, 40), isThrough(got), got.body());
        }
        HttpResponse<String> got = send(place, XML, bytes(xml));
        attack.tried(place + depth + " xml", isThrough(got), got.body());
        HttpResponse<String> told = send(place, JSON, bytes(narrative));
        attack.tried(
            place + depth + " narrative",
            told.statusCode() >= 500,
            told.statusCode() + told.body());
      }
      String patch = "[{\"op\":\"add\",\"path\":\"/x\",\"value\":" + json.get(0) + "}]";
      HttpResponse<String> patched =
          CLIENT.send(
              HttpRequest.newBuilder(URI.create("http://localhost:8081/fhir/Patient/nobody"))
                  .header("Content-Type", "application/json-patch+json")
                  .method("PATCH", BodyPublishers.ofString(patch))
                  .build(),
              BodyHandlers.ofString());
      attack.tried("patch " + depth, isThrough(patched), patched.body());
      HttpResponse<String> card =
          send("/cds-services/tidemark-plan", "application/json", bytes(json.get(1)));
      attack.tried("card " + depth, card.statusCode() >= 500, card.statusCode() + card.body());
    }
    attack.end(120);
  }

  /** $validate answers 200 with what is wrong; all else refuses. */
  private static boolean isThrough(HttpResponse<String> got) {
    boolean told = got.statusCode() == 200 && got.body().contains("\"error\"");
    return got.statusCode() >= 500 || (got.statusCode() < 400 && !told);
  }

  private static byte[] packed(byte[] body, int times) throws IOException {
    byte[] whole = body;
    for (int i = 0; i < times; i++) {
      ByteArrayOutputStream to = new ByteArrayOutputStream();
      try (GZIPOutputStream packing = new GZIPOutputStream(to)) {
        packing.write(whole);
      }
      whole = to.toByteArray();
    }
    return whole;
  }

  /** A small body that becomes 1 GiB is cut off at the limit of what comes out. */
  @Test
  void zipBombs() throws Exception {
    Attack attack = new Attack("zip bombs");
    ByteArrayOutputStream to = new ByteArrayOutputStream();
    try (GZIPOutputStream packing = new GZIPOutputStream(to)) {
      packing.write(bytes("{\"resourceType\":\"Patient\",\"id\":\""));
      byte[] much = new byte[1 << 20];
      java.util.Arrays.fill(much, (byte) 'a');
      for (int i = 0; i < 1024; i++) {
        packing.write(much);
      }
      packing.write(bytes("\"}"));
    }
    byte[] bomb = to.toByteArray();
    assertTrue(bomb.length < 2 << 20);
    for (String place : PLACES) {
      for (String type : List.of(JSON, XML)) {
        HttpResponse<String> got = send(place, type, bomb, "Content-Encoding", "gzip");
        attack.tried(place, got.statusCode() != 413, got.statusCode() + got.body());
      }
      for (String coding : List.of("gzip, gzip", "deflate", "br", "x-gzip", "zstd", "compress")) {
        HttpResponse<String> got = send(place, JSON, packed(bomb, 1), "Content-Encoding", coding);
        attack.tried(place + coding, got.statusCode() != 415, got.statusCode() + got.body());
      }
      HttpResponse<String> cut =
          send(
              place,
              JSON,
              java.util.Arrays.copyOf(packed(bytes("{}"), 1), 12),
              "Content-Encoding",
              "gzip");
      attack.tried(place + " cut off", cut.statusCode() != 400, cut.statusCode() + cut.body());
      HttpResponse<String> none = send(place, JSON, bytes("{}"), "Content-Encoding", "gzip");
      attack.tried(
          place + " not packed", none.statusCode() != 400, none.statusCode() + none.body());
    }
    attack.end(60);
  }

  @Test
  void aPackedBodyIsTaken() throws Exception {
    byte[] body = packed(bytes("{\"resourceType\":\"Patient\",\"active\":true}"), 1);
    HttpResponse<String> got = send("/fhir/Patient", JSON, body, "Content-Encoding", "gzip");
    assertEquals(201, got.statusCode(), got.body());
  }
}
