package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;

import io.quarkus.test.junit.QuarkusTest;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpResponse;
import java.net.http.HttpResponse.BodyHandlers;
import java.util.List;
import java.util.Locale;
import java.util.stream.IntStream;
import org.junit.jupiter.api.Test;

/**
 * Addresses that are meant to make the service ask inside the clinic's network (server-side request
 * forgery), or to send a browser elsewhere.
 */
@QuarkusTest
class AddressAttackTest {
  private static final HttpClient CLIENT =
      HttpClient.newBuilder()
          .version(HttpClient.Version.HTTP_1_1)
          .followRedirects(HttpClient.Redirect.NEVER)
          .build();

  private static HttpResponse<String> send(String method, String path, String body, String... more)
      throws Exception {
    HttpRequest.Builder request =
        HttpRequest.newBuilder(URI.create("http://localhost:8081" + path))
            .header("Content-Type", "application/fhir+json")
            .method(method, HttpRequest.BodyPublishers.ofString(body));
    if (more.length > 0) {
      request.headers(more);
    }
    return CLIENT.send(request.build(), BodyHandlers.ofString());
  }

  /** Ways to write addresses that are not public (RFC 6890), by name, number and embedding. */
  private static final List<String> INSIDE =
      List.of(
          "127.0.0.1",
          "127.1",
          "0",
          "0.0.0.0",
          "2130706433",
          "0x7f000001",
          "0x7f.1",
          "017700000001",
          "10.0.0.1",
          "10.255.255.255",
          "172.16.0.1",
          "172.31.255.255",
          "192.168.0.1",
          "169.254.169.254",
          "100.64.0.1",
          "100.127.255.255",
          "192.0.0.1",
          "192.0.2.1",
          "198.18.0.1",
          "198.19.255.255",
          "224.0.0.1",
          "240.0.0.1",
          "255.255.255.255",
          "localhost",
          "LOCALHOST",
          "localhost.",
          "[::1]",
          "[::]",
          "[::ffff:127.0.0.1]",
          "[::ffff:7f00:1]",
          "[::ffff:a00:1]",
          "[::127.0.0.1]",
          "[fe80::1]",
          "[fc00::1]",
          "[fd12:3456::1]",
          "[ff02::1]",
          "[2002:7f00:1::]",
          "[2002:a00:1::]",
          "[2001:0:7f00:1::]",
          "[64:ff9b::7f00:1]",
          "[64:ff9b::a00:1]");

  @Test
  void serverSideRequestForgeryBySubscriptions() throws Exception {
    Attack attack = new Attack("SSRF by subscriptions");
    for (String host : INSIDE) {
      for (String form :
          List.of(
              "https://%s/",
              "https://%s:8443/x",
              "http://%s/",
              "https://user@%s/",
              "https://a:b@%s/",
              "HTTPS://%s/",
              "https://%s#@hook.example/",
              "https://%s?@hook.example/",
              "https://hook.example@%s/",
              "ftp://%s/",
              "file://%s/etc/passwd",
              "gopher://%s/",
              "//%s/")) {
        String endpoint = form.formatted(host);
        HttpResponse<String> got =
            send(
                "POST",
                "/fhir/Subscription",
                """
                {"resourceType":"Subscription","status":"requested","reason":"x",
                 "criteria":"Observation?code=72514-3",
                 "channel":{"type":"rest-hook","endpoint":"%s"}}"""
                    .formatted(endpoint));
        attack.tried(
            endpoint,
            got.statusCode() != 422 && got.statusCode() != 400,
            got.statusCode() + got.body());
      }
    }
    attack.end(500);
  }

  /** What is the sender's own cannot be set, so that a notification hides no second request. */
  @Test
  void headersOfNotifications() throws Exception {
    Attack attack = new Attack("headers of notifications");
    for (String header :
        List.of(
            "Host: inside",
            "Transfer-Encoding: chunked",
            "Content-Length: 0",
            "Connection: x",
            "Expect: 100-continue",
            "Upgrade: h2c",
            "TE: trailers",
            "Trailer: x",
            "host: inside",
            "X: a\\r\\nY: b",
            "X: a\\nY: b",
            "X\\u0000: a",
            "X Y: b",
            ": b",
            "X: \\u0085",
            "X")) {
      HttpResponse<String> got =
          send(
              "POST",
              "/fhir/Subscription",
              """
              {"resourceType":"Subscription","status":"requested","reason":"x",
               "criteria":"Observation?code=72514-3","channel":{"type":"rest-hook",
               "endpoint":"https://hook.example/x","header":["%s"]}}"""
                  .formatted(header));
      attack.tried(header, got.statusCode() != 422, got.statusCode() + got.body());
    }
    attack.end(16);
  }

  /** Absolute addresses in records are never read: whoever listens there hears nothing. */
  @Test
  void addressesInRecords() throws Exception {
    Attack attack = new Attack("SSRF by addresses in records");
    try (Receiver inside = new Receiver()) {
      String at = inside.address();
      List<String> records =
          List.of(
              "{'resourceType':'Patient','meta':{'profile':['%s']}}",
              "{'resourceType':'Patient','photo':[{'url':'%s'}]}",
              "{'resourceType':'Patient','extension':[{'url':'%s','valueUri':'%s'}]}",
              "{'resourceType':'Patient','managingOrganization':{'reference':'%s/Organization/x'}}",
              "{'resourceType':'Patient','text':{'status':'generated','div':'<div xmlns=\\\"http://www.w3.org/1999/xhtml\\\"><img src=\\\"%s\\\"/></div>'}}",
              "{'resourceType':'Observation','status':'final','code':{'coding':[{'system':'%s','code':'x'}]},'subject':{'reference':'%s/Patient/x'}}",
              "{'resourceType':'Observation','status':'final','code':{'text':'x'},'derivedFrom':[{'reference':'%s/Observation/1'}]}",
              "{'resourceType':'CarePlan','status':'active','intent':'plan','subject':{'reference':'%s/Patient/x'},'instantiatesCanonical':['%s']}",
              "{'resourceType':'QuestionnaireResponse','status':'completed','questionnaire':'%s'}",
              "{'resourceType':'Questionnaire','status':'active','derivedFrom':['%s'],'item':[{'linkId':'1','type':'choice','answerValueSet':'%s'}]}",
              "{'resourceType':'PlanDefinition','status':'active','action':[{'definitionCanonical':'%s'}]}",
              "{'resourceType':'ActivityDefinition','status':'active','library':['%s'],'profile':'%s'}",
              "{'resourceType':'Goal','lifecycleStatus':'active','description':{'text':'x'},'subject':{'reference':'%s/Patient/x'}}",
              "{'resourceType':'Parameters','parameter':[{'name':'resource','resource':{'resourceType':'Patient','meta':{'profile':['%s']}}},{'name':'profile','valueUri':'%s'}]}");
      for (String record : records) {
        String body = record.replace('\'', '"').replace("%s", at + "/x");
        String type = body.split("\"")[3];
        for (String path :
            List.of(
                "/fhir/" + type,
                "/fhir/" + type + "/$validate",
                "/fhir/Patient/$validate?profile=" + at,
                "/fhir/QuestionnaireResponse/$extract")) {
          HttpResponse<String> got = send("POST", path, body);
          attack.tried(path + body, got.statusCode() >= 500, got.statusCode() + got.body());
        }
        String bundle =
            "{\"resourceType\":\"Bundle\",\"type\":\"batch\",\"entry\":[{\"fullUrl\":\""
                + at
                + "/Patient/1\",\"resource\":"
                + body
                + ",\"request\":{\"method\":\"POST\",\"url\":\""
                + at
                + "\"}}]}";
        HttpResponse<String> got = send("POST", "/fhir", bundle);
        attack.tried("bundle " + body, got.statusCode() >= 500, got.statusCode() + got.body());
        attack.tried("asked", !inside.got().isEmpty(), inside.got().toString());
      }
      assertEquals(List.of(), inside.got());
    }
    attack.end(80);
  }

  /** No answer leads to another host, whatever the address, the host or a parameter says. */
  @Test
  void openRedirects() throws Exception {
    Attack attack = new Attack("open redirects");
    List<String> paths =
        List.of(
            "/",
            "/plan",
            "/plan/",
            "/guide",
            "/assets",
            "/assets/",
            "/fhir",
            "/fhir/",
            "/fhir/Patient/",
            "//evil.example",
            "//evil.example/",
            "//evil.example/..",
            "/%2f%2fevil.example",
            "/%5cevil.example",
            "/plan//evil.example",
            "/plan/%2f%2fevil.example/..",
            "/assets//evil.example/",
            "/assets/..%2f",
            "/.evil.example",
            "/@evil.example",
            "/login",
            "/sign-in",
            "/q/health/..",
            "/q//evil.example");
    List<String> queries =
        List.of(
            "",
            "?next=//evil.example",
            "?return=https://evil.example",
            "?url=https://evil.example",
            "?redirect_uri=https://evil.example",
            "?page=//evil.example",
            "?name=//evil.example");
    for (String path : paths) {
      for (String query : queries) {
        String got =
            Raw.send(
                "GET "
                    + path
                    + query
                    + " HTTP/1.1\r\nHost: localhost:8081\r\nX-Forwarded-Host: evil.example\r\nConnection: close\r\n\r\n");
        String location =
            got.lines()
                .takeWhile(line -> !line.isBlank())
                .map(line -> line.toLowerCase(Locale.ROOT))
                .filter(line -> line.startsWith("location:") || line.startsWith("refresh:"))
                .findFirst()
                .orElse("");
        attack.tried(path + query, leadsAway(location), got);
      }
    }
    attack.end(IntStream.of(24, 7).reduce(1, (a, b) -> a * b));
  }

  /** Whether a line {@code name: address} names another host than ours. */
  private static boolean leadsAway(String line) {
    String address = line.substring(line.indexOf(':') + 1).strip();
    return address.matches("(?:[a-z]+:)?[/\\\\]{2}.*")
        && !address.matches("http://localhost:8081(?:[/?#].*)?");
  }
}
