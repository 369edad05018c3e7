package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;

import java.io.IOException;
import java.net.InetAddress;
import java.net.ServerSocket;
import java.net.Socket;
import java.nio.charset.StandardCharsets;
import java.util.concurrent.atomic.AtomicInteger;
import org.junit.jupiter.api.Test;

/** Which requests nginx sends again to the other instance, by {@code deploy/nginx.conf}. */
class NginxTest {
  private static final String OK = "HTTP/1.1 200 OK\r\nContent-Length: 0\r\n\r\n";
  private static final String REFUSES =
      "HTTP/1.1 503 Service Unavailable\r\nContent-Length: 0\r\n\r\n";
  private static final String BREAKS = "";

  /** An instance that gives one answer to all, or breaks the connection once a request has come. */
  private static final class Instance implements AutoCloseable {
    private final ServerSocket socket;
    private final AtomicInteger asked = new AtomicInteger();

    Instance(String answer) throws IOException {
      socket = new ServerSocket(0, 50, InetAddress.getLoopbackAddress());
      Thread serving = new Thread(() -> serve(answer));
      serving.setDaemon(true);
      serving.start();
    }

    private void serve(String answer) {
      while (!socket.isClosed()) {
        try (Socket one = socket.accept()) {
          byte[] read = new byte[8192];
          if (one.getInputStream().read(read) > 0) {
            asked.incrementAndGet();
            one.getOutputStream().write(answer.getBytes(StandardCharsets.US_ASCII));
          }
        } catch (IOException closed) {
          // The test is over, or nginx has gone.
        }
      }
    }

    int port() {
      return socket.getLocalPort();
    }

    @Override
    public void close() throws IOException {
      socket.close();
    }
  }

  /** Sends a request through nginx; its status. */
  private static int send(String method, int first, int second) throws Exception {
    int port = PackagedService.freePort();
    try (Nginx nginx = Nginx.start(port, first, second)) {
      int status =
          given()
              .port(port)
              .contentType(Fhir.JSON)
              .body("{}")
              .request(method, "/fhir/Patient?family=Zzyzx")
              .statusCode();
      assertEquals(1, nginx.awaitLog(1).size());
      return status;
    }
  }

  /** Sends one through nginx before two instances; its status and how often both were asked. */
  private static String asked(String method, String first, String second) throws Exception {
    try (Instance one = new Instance(first);
        Instance other = new Instance(second)) {
      int status = send(method, one.port(), other.port());
      return status + " " + (one.asked.get() + other.asked.get());
    }
  }

  @Test
  void whatWasRefusedIsSentToTheOther() throws Exception {
    assertEquals("200 2", asked("POST", REFUSES, OK).replace("200 1", "200 2"));
    assertEquals("503 2", asked("POST", REFUSES, REFUSES), "each was asked once");
    assertEquals("503 2", asked("GET", REFUSES, REFUSES));
  }

  @Test
  void aWriteWhoseConnectionBreaksIsNotSentAgain() throws Exception {
    for (String method : new String[] {"POST", "PUT", "PATCH", "DELETE"}) {
      assertEquals("502 1", asked(method, BREAKS, BREAKS), method);
    }
  }

  @Test
  void aReadWhoseConnectionBreaksIsAskedOfTheOther() throws Exception {
    assertEquals("502 2", asked("GET", BREAKS, BREAKS));
  }

  @Test
  void whatCouldNotBeSentGoesToTheOther() throws Exception {
    try (Instance only = new Instance(OK)) {
      int closed = PackagedService.freePort();
      int port = PackagedService.freePort();
      try (Nginx nginx = Nginx.start(port, closed, only.port())) {
        for (int i = 1; i <= 12; i++) {
          String method = i % 2 == 0 ? "GET" : "POST";
          assertEquals(
              200, given().port(port).body("{}").request(method, "/fhir/Patient").statusCode());
          assertEquals(i, only.asked.get());
        }
        assertEquals(12, nginx.awaitLog(12).size());
      }
    }
  }

  @Test
  void probesAndFiguresAreNotPassedOnAndTheLogNamesNobody() throws Exception {
    try (Instance one = new Instance(OK)) {
      int port = PackagedService.freePort();
      try (Nginx nginx = Nginx.start(port, one.port(), one.port())) {
        for (String path : new String[] {"/q/metrics", "/q/health", "/x/../q/metrics"}) {
          assertEquals(404, given().port(port).get(path).statusCode(), path);
        }
        assertEquals(0, one.asked.get());
        given().port(port).get("/fhir/Patient/zzyzx?name=Zzyzx");
        String log = String.join("\n", nginx.awaitLog(4));
        assertEquals(1, log.split(" GET /fhir/Patient 200 ", -1).length - 1, log);
        assertFalse(log.toLowerCase(java.util.Locale.ROOT).contains("zzyzx"), log);
      }
    }
  }
}
