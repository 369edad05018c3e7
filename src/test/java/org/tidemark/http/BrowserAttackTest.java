package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import jakarta.inject.Inject;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpResponse;
import java.net.http.HttpResponse.BodyHandlers;
import java.util.List;
import java.util.Locale;
import java.util.logging.Level;
import org.hl7.fhir.r4.model.Annotation;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.StringType;
import org.jboss.logmanager.ExtLogRecord;
import org.junit.jupiter.api.Test;

/** What is done to people who look at the pages, or through their browser to the service. */
@QuarkusTest
class BrowserAttackTest {
  private static final HttpClient CLIENT =
      HttpClient.newBuilder().version(HttpClient.Version.HTTP_1_1).build();

  /** OWASP, XSS Filter Evasion: for text, attributes, addresses and templates. */
  private static final List<String> SCRIPTS =
      List.of(
          "<script>attack()</script>",
          "\"><script>attack()</script>",
          "'><img src=x onerror=attack()>",
          "<svg/onload=attack()>",
          "</title><script>attack()</script>",
          "</textarea><script>attack()</script>",
          "\" onmouseover=\"attack()",
          "' onfocus='attack()' autofocus='",
          "javascript:attack()",
          "<iframe srcdoc='<script>attack()</script>'>",
          "{{constructor.constructor('attack()')()}}",
          "{attack}",
          "<!--<script>attack()//-->",
          "&lt;script&gt;attack()&lt;/script&gt;",
          "\u2028<script>attack()</script>");

  @Inject Origins origins;

  private static HttpResponse<String> get(String path, String... headers) throws Exception {
    HttpRequest.Builder request =
        HttpRequest.newBuilder(URI.create("http://localhost:8081" + path));
    if (headers.length > 0) {
      request.headers(headers);
    }
    return CLIENT.send(request.build(), BodyHandlers.ofString());
  }

  /** A page has our script and no other, and no text of a record is part of its markup. */
  private static boolean isScripted(String page) {
    String plain =
        page.toLowerCase(Locale.ROOT)
            .replace("<script src=\"/assets/plan.js\" defer></script>", "");
    // What stands between the quotes of an attribute is no markup.
    String markup = plain.replaceAll("=\"[^\"]*\"", "=\"\"");
    return markup.contains("<script")
        || markup.contains("<iframe")
        || markup.contains("<img src=x")
        || markup.contains("<svg/onload")
        || markup.matches("(?s).*<[^>]*\\son(error|load|focus|mouseover)=.*")
        || plain.contains("href=\"javascript");
  }

  /** Texts of a person, a plan and its notes, on each page, paper and in each narrative. */
  @Test
  void scriptsInTexts() throws Exception {
    Attack attack = new Attack("scripts in texts (XSS)");
    PlanPerson person = PlanPerson.enrolled();
    CarePlan plan = person.plan();
    String id = plan.getIdElement().getIdPart();
    String patientId = plan.getSubject().getReferenceElement().getIdPart();
    for (String script : SCRIPTS) {
      Patient patient =
          PlanPerson.client().read().resource(Patient.class).withId(patientId).execute();
      patient.getNameFirstRep().setText(script).setFamily(script);
      patient.getNameFirstRep().getGiven().clear();
      patient.getNameFirstRep().addGiven(script);
      PlanPerson.put(patient).statusCode(200);
      CarePlan now = person.plan();
      now.getNote().clear();
      now.addNote(new Annotation().setText(script).setAuthor(new StringType(script)));
      now.setTitle(script);
      now.setDescription(script);
      PlanPerson.put(now);
      String encoded = java.net.URLEncoder.encode(script, java.nio.charset.StandardCharsets.UTF_8);
      for (String path :
          List.of(
              "/",
              "/?name=" + encoded,
              "/?need=" + encoded,
              "/?page=" + encoded,
              "/plan/" + id,
              "/plan/" + encoded,
              "/guide?x=" + encoded,
              "/fhir/CarePlan/" + id + "/$handout?_format=text/html",
              "/fhir/CarePlan/" + id + "/$progress-report?_format=text/html",
              "/fhir/Patient/" + encoded,
              "/nowhere/" + encoded)) {
        HttpResponse<String> got = get(path, "Accept", "text/html, */*", "Accept-Language", "en");
        boolean page = got.headers().firstValue("Content-Type").orElse("").startsWith("text/html");
        attack.tried(
            path + " " + script,
            got.statusCode() >= 500 || (page && isScripted(got.body())),
            got.statusCode() + got.body());
      }
      String narrative = person.plan().getText().getDivAsString();
      attack.tried("narrative " + script, isScripted(narrative), narrative);
    }
    assertTrue(get("/plan/" + id).body().contains("attack()"), "the texts are not shown at all");
    attack.end(180);
  }

  /** OWASP Secure Headers Project: on whatever the service answers. */
  @Test
  void securityHeaders() throws Exception {
    Attack attack = new Attack("answers without security headers");
    String plan = PlanPerson.enrolled().plan().getIdElement().getIdPart();
    for (String path :
        List.of(
            "/",
            "/plan/" + plan,
            "/plan/none",
            "/guide",
            "/fhir/metadata",
            "/fhir/Patient",
            "/fhir/Patient/none",
            "/fhir/CarePlan/" + plan + "/$handout?_format=text/html",
            "/fhir/openapi.json",
            "/assets/page.css",
            "/assets/plan.js",
            "/q/health",
            "/cds-services",
            "/.well-known/jwks.json",
            "/fhir/.well-known/smart-configuration",
            "/nowhere",
            "/auth/token",
            "/export/none")) {
      HttpResponse<String> got = get(path);
      String policy = String.join(" ", got.headers().allValues("Content-Security-Policy"));
      attack.tried(
          path,
          got.headers().allValues("Content-Security-Policy").size() != 1
              || !policy.contains("default-src 'none'")
              || !policy.contains("frame-ancestors 'none'")
              || !policy.contains("base-uri 'none'")
              || policy.contains("unsafe-eval")
              || (policy.contains("script-src") && policy.contains("unsafe"))
              || !got.headers().allValues("X-Content-Type-Options").equals(List.of("nosniff"))
              || !got.headers().allValues("X-Frame-Options").equals(List.of("DENY"))
              || got.headers().firstValue("Referrer-Policy").isEmpty()
              || got.headers().firstValue("Cache-Control").isEmpty()
              || got.headers().firstValue("Server").isPresent()
              || got.headers().firstValue("X-Powered-By").isPresent(),
          got.statusCode() + got.headers().map().toString());
    }
    attack.end(18);
  }

  /** Unsafe requests that a browser sends for somebody else's page. */
  @Test
  void crossSiteRequestForgery() throws Exception {
    Attack attack = new Attack("cross-site request forgery");
    int before = patients();
    for (String method : List.of("POST", "PUT", "PATCH", "DELETE")) {
      for (String[] from :
          new String[][] {
            {"Sec-Fetch-Site", "cross-site"},
            {"Sec-Fetch-Site", "same-site"},
            {"Sec-Fetch-Site", "CROSS-SITE"},
            {"Sec-Fetch-Site", "anything"},
            {"Origin", "https://evil.example"},
            {"Origin", "null"},
            {"Origin", "http://localhost.evil.example:8081"},
            {"Origin", "http://localhost:8082"},
            {"Sec-Fetch-Site", "cross-site", "Origin", "https://evil.example"}
          }) {
        for (String type :
            List.of("application/fhir+json", "text/plain", "application/x-www-form-urlencoded")) {
          String path = method.equals("POST") ? "/fhir/Patient" : "/fhir/Patient/forged";
          HttpRequest.Builder request =
              HttpRequest.newBuilder(URI.create("http://localhost:8081" + path))
                  .header("Content-Type", type)
                  .headers(from)
                  .method(
                      method,
                      HttpRequest.BodyPublishers.ofString(
                          "{\"resourceType\":\"Patient\",\"id\":\"forged\"}"));
          HttpResponse<String> got = CLIENT.send(request.build(), BodyHandlers.ofString());
          attack.tried(
              method + String.join(" ", from),
              got.statusCode() != 403,
              got.statusCode() + got.body());
        }
      }
    }
    assertEquals(before, patients());
    attack.end(100);
  }

  private static int patients() throws Exception {
    return new Sender(null).get("/fhir/Patient?_total=accurate&_summary=count").total();
  }

  /** What the check says where no portal is allowed; by Fetch Metadata and RFC 6454. */
  @Test
  void onlyOurOwnPagesMaySend() {
    for (String method : List.of("POST", "PUT", "PATCH", "DELETE")) {
      assertTrue(origins.isSentByOurs(method, null, null, "localhost:8081"));
      assertTrue(
          origins.isSentByOurs(method, "same-origin", "http://localhost:8081", "localhost:8081"));
      assertTrue(origins.isSentByOurs(method, "none", null, "localhost:8081"));
      assertFalse(origins.isSentByOurs(method, "cross-site", null, "localhost:8081"));
      assertFalse(origins.isSentByOurs(method, "same-site", null, "localhost:8081"));
    }
    assertTrue(origins.isSentByOurs("GET", "cross-site", null, "localhost:8081"));
  }

  /** A name that has been pointed to this machine does not open it (DNS rebinding). */
  @Test
  void rebinding() {
    Attack attack = new Attack("DNS rebinding");
    for (String host :
        List.of(
            "evil.example",
            "evil.example:8081",
            "localhost.evil.example",
            "127.0.0.1.evil.example",
            "10.0.0.1",
            "192.168.1.4:8081",
            "[fd00::1]",
            "169.254.169.254",
            "0.0.0.0")) {
      for (String path :
          List.of("/", "/guide", "/fhir/Patient", "/fhir/metadata", "/cds-services")) {
        String got =
            Raw.send(
                "GET " + path + " HTTP/1.1\r\nHost: " + host + "\r\nConnection: close\r\n\r\n");
        attack.tried(host + path, Raw.status(got) != 403, got);
      }
    }
    assertEquals(
        200,
        Raw.status(
            Raw.send(
                8081,
                20_000,
                "GET /guide HTTP/1.1\r\nHost: 127.0.0.1:8081\r\nConnection: close\r\n\r\n")));
    assertEquals(
        200,
        Raw.status(
            Raw.send(
                8081,
                20_000,
                "GET /guide HTTP/1.1\r\nHost: [::1]:8081\r\nConnection: close\r\n\r\n")));
    attack.end(45);
  }

  /** Line ends in whatever comes back in a header (CWE-113). */
  @Test
  void headerInjection() {
    Attack attack = new Attack("header injection");
    for (String end :
        List.of("%0d%0a", "%0a", "%0d", "%E5%98%8A%E5%98%8D", "%u000a", "%250d%250a", "%00")) {
      String more = end + "X-Injected:%20yes" + end + end + "body";
      for (String target :
          List.of(
              "GET /fhir/Patient/a" + more,
              "GET /fhir/Patient?_format=json" + more,
              "GET /fhir/Patient?_id=" + more,
              "GET /plan/" + more,
              "GET /?name=" + more,
              "GET /fhir/Patient/a/_history/1" + more,
              "GET /fhir/" + more,
              "GET /assets/" + more,
              "GET /export/" + more,
              "POST /fhir/Patient/a" + more,
              "GET /cds-services/" + more,
              "PUT /fhir/Patient/a" + more)) {
        String got =
            Raw.send(
                target
                    + " HTTP/1.1\r\nHost: localhost\r\nContent-Length: 0\r\nConnection: close\r\n\r\n");
        attack.tried(target, isInjected(got) || Raw.status(got) >= 500, got);
      }
      String raw =
          java.net.URLDecoder.decode(
              end.startsWith("%u") ? "%0a" : end, java.nio.charset.StandardCharsets.ISO_8859_1);
      for (String name :
          List.of(
              "X-Request-ID",
              "If-Match",
              "If-None-Match",
              "Accept",
              "Prefer",
              "Origin",
              "Accept-Language",
              "Content-Type")) {
        String got =
            Raw.send(
                "GET /fhir/Patient?_count=0 HTTP/1.1\r\nHost: localhost\r\n"
                    + name
                    + ": a"
                    + raw.replace("\n", "\n ")
                    + "X-Injected: yes\r\nConnection: close\r\n\r\n");
        attack.tried(name + end, isInjected(got) || Raw.status(got) >= 500, got);
      }
    }
    attack.end(130);
  }

  private static boolean isInjected(String got) {
    return got.lines()
        .takeWhile(line -> !line.isBlank())
        .anyMatch(line -> line.toLowerCase(Locale.ROOT).startsWith("x-injected"));
  }

  /** Line ends and escapes of terminals in what is logged (CWE-117). */
  @Test
  void logInjection() {
    Attack attack = new Attack("log injection");
    for (String bad :
        List.of(
            "\n",
            "\r",
            "\r\n",
            "\u001b[2J",
            "\u0007",
            "\u0008",
            "\u0085",
            "\u2028",
            "\u009b31m",
            "\u0000")) {
      String forged = "x" + bad + "2026-01-01 00:00:00,000 INFO  [forged] all is well";
      for (ExtLogRecord line :
          List.of(
              new ExtLogRecord(Level.INFO, forged, "x"),
              new ExtLogRecord(Level.INFO, "got %s", ExtLogRecord.FormatStyle.PRINTF, "x"),
              new ExtLogRecord(Level.INFO, "failed", "x"))) {
        if (line.getMessage().equals("got %s")) {
          line.setParameters(new Object[] {forged});
        } else if (line.getMessage().equals("failed")) {
          line.setThrown(new IllegalStateException(forged));
        }
        new LogLines().isLoggable(line);
        String written =
            new org.jboss.logmanager.formatters.PatternFormatter("%s%e%n").format(line);
        boolean control =
            written
                .strip()
                .chars()
                .anyMatch(c -> Character.isISOControl(c) && c != '\n' && c != '\t' || c == 0x2028);
        boolean own =
            written
                .lines()
                .skip(1)
                .anyMatch(further -> !further.isEmpty() && !further.startsWith("    "));
        attack.tried(forged, control || own || !written.contains("forged"), written);
      }
    }
    attack.end(30);
  }
}
