package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;

import io.quarkus.test.junit.QuarkusTest;
import java.util.ArrayList;
import java.util.List;
import org.junit.jupiter.api.Test;

/**
 * Requests of which two servers could disagree where they end (RFC 9112, sections 6.1, 6.3 and
 * 11.2). After such a request the connection is closed, so that what was hidden in it is never
 * answered.
 */
@QuarkusTest
class SmugglingAttackTest {
  private static final String HIDDEN =
      "GET /fhir/Patient/hidden HTTP/1.1\r\nHost: localhost\r\nX-Request-ID: hidden\r\n\r\n";

  private static String post(String lines, String body) {
    return "POST /fhir/Patient HTTP/1.1\r\nHost: localhost\r\n"
        + "Content-Type: application/fhir+json\r\n"
        + lines
        + "\r\n"
        + body;
  }

  private static String chunked(String body) {
    return Integer.toHexString(body.length()) + "\r\n" + body + "\r\n0\r\n\r\n";
  }

  /** A request is not answered twice, and nothing that is hidden in it is answered. */
  @Test
  void requestSmuggling() {
    Attack attack = new Attack("request smuggling");
    String patient = "{\"resourceType\":\"Patient\"}";
    List<String> requests = new ArrayList<>();
    for (String coding :
        List.of(
            "Transfer-Encoding: chunked",
            "Transfer-Encoding: xchunked",
            "Transfer-Encoding : chunked",
            "Transfer-Encoding:\tchunked",
            "Transfer-Encoding: chunked, identity",
            "Transfer-Encoding: identity, chunked",
            "Transfer-Encoding: chunked\r\nTransfer-Encoding: identity",
            "Transfer-Encoding: identity\r\nTransfer-Encoding: chunked",
            "Transfer-Encoding:\r\n chunked",
            "Transfer-Encoding: \"chunked\"",
            "Transfer-Encoding: chunked;q=1",
            "transfer-encoding: CHUNKED",
            "X: y\nTransfer-Encoding: chunked",
            "X: y\rTransfer-Encoding: chunked",
            "\u000bTransfer-Encoding: chunked",
            "Transfer-Encoding: \u000bchunked",
            "Transfer-Encoding: chunked\u0000")) {
      String all = chunked(patient) + HIDDEN;
      for (int length : List.of(0, 4, patient.length(), chunked(patient).length(), all.length())) {
        requests.add(post("Content-Length: " + length + "\r\n" + coding + "\r\n", all));
        requests.add(post(coding + "\r\nContent-Length: " + length + "\r\n", all));
      }
    }
    int two = patient.length();
    int all = two + HIDDEN.length();
    for (String lengths :
        List.of(
            "Content-Length: %d\r\nContent-Length: %d\r\n".formatted(two, all),
            "Content-Length: %d\r\nContent-Length: %d\r\n".formatted(all, two),
            "Content-Length: %d, %d\r\n".formatted(two, all),
            "Content-Length: +%d\r\n".formatted(two),
            "Content-Length: -1\r\n",
            "Content-Length: 0x%x\r\n".formatted(two),
            "Content-Length: %d.0\r\n".formatted(two),
            "Content-Length: %d abc\r\n".formatted(two),
            "Content-Length : %d\r\n".formatted(two),
            "Content-Length:\r\n %d\r\n".formatted(two),
            "Content-Length: \r\n",
            "Content-Length: 99999999999999999999\r\n",
            "X: y\r\n folded\r\nContent-Length: 0%d\r\nContent-Length: %d\r\n"
                .formatted(two, all))) {
      requests.add(post(lengths, patient + HIDDEN));
    }
    for (String size : List.of("0x5", "+5", "-5", "g", "ffffffffffffffff5", "")) {
      requests.add(
          post("Transfer-Encoding: chunked\r\n", size + "\r\nhello\r\n0\r\n\r\n" + HIDDEN));
    }
    for (String end : List.of("\n", "\r", "\r\r\n", "\n\r\n")) {
      requests.add(
          post(
              "Transfer-Encoding: chunked\r\n",
              "5" + end + "hello" + end + "0" + end + end + HIDDEN));
    }
    twoRequestsOnOneConnectionAreAnswered();
    for (String request : requests) {
      String got = Raw.send(request);
      boolean hidden = got.contains("hidden");
      attack.tried(request, hidden || Raw.answers(got) > 1 || Raw.status(got) >= 500, got);
    }
    attack.end(190);
  }

  /** A well-formed pair of requests is answered twice, so that the counting counts. */
  @Test
  void twoRequestsOnOneConnectionAreAnswered() {
    String last = HIDDEN.replace("Host:", "Connection: close\r\nHost:");
    String got = Raw.send(8081, 20_000, post("Content-Length: 2\r\n", "{}") + last);
    assertEquals(2, Raw.answers(got), got);
  }

  /** A line of a header that goes on in the next line (RFC 9112, section 5.2) hides nothing. */
  @Test
  void foldedHeaders() {
    Attack attack = new Attack("folded headers");
    for (String name : List.of("If-Match", "If-None-Exist", "Prefer", "X-Request-ID", "Accept")) {
      for (String fold : List.of("\r\n ", "\r\n\t", "\n ", "\r\n \r\n\t")) {
        String got =
            Raw.send(
                "GET /fhir/Patient?_count=0 HTTP/1.1\r\nHost: localhost\r\n"
                    + name
                    + ": a"
                    + fold
                    + "X-Injected: yes\r\nConnection: close\r\n\r\n");
        attack.tried(
            name + fold,
            got.toLowerCase(java.util.Locale.ROOT).contains("\nx-injected")
                || Raw.answers(got) > 1
                || Raw.status(got) >= 500,
            got);
      }
    }
    attack.end(20);
  }
}
