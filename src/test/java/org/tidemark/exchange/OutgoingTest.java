package org.tidemark.exchange;

import static org.junit.jupiter.api.Assertions.assertEquals;

import com.sun.net.httpserver.HttpServer;
import io.vertx.core.Vertx;
import java.io.IOException;
import java.net.InetAddress;
import java.net.InetSocketAddress;
import java.net.URI;
import java.nio.charset.StandardCharsets;
import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;

/** Requests to others whose answers come at once, from more threads than there are processors. */
class OutgoingTest {
  private static final int THREADS = 16;
  private static final int EACH = 250;

  private final Vertx vertx = Vertx.vertx();
  private HttpServer server;

  @BeforeEach
  void serve() throws IOException {
    server = HttpServer.create(new InetSocketAddress(InetAddress.getLoopbackAddress(), 0), 0);
    server.createContext(
        "/",
        exchange -> {
          byte[] body = exchange.getRequestURI().getQuery().getBytes(StandardCharsets.UTF_8);
          exchange.sendResponseHeaders(200, body.length);
          exchange.getResponseBody().write(body);
          exchange.close();
        });
    server.setExecutor(Executors.newFixedThreadPool(4));
    server.start();
  }

  @AfterEach
  void end() throws Exception {
    server.stop(0);
    vertx.close().toCompletionStage().toCompletableFuture().get();
  }

  /** An answer may be there before whoever asked has looked for it. */
  @Test
  void noAnswerIsLost() throws Exception {
    Outgoing outgoing = new Outgoing(vertx, new OutgoingTls(null, Optional.empty()));
    ExecutorService threads = Executors.newFixedThreadPool(THREADS);
    List<Future<List<String>>> asked = new ArrayList<>();
    for (int i = 0; i < THREADS; i++) {
      asked.add(threads.submit(() -> wrongAnswers(outgoing)));
    }
    List<String> wrong = new ArrayList<>();
    for (Future<List<String>> one : asked) {
      wrong.addAll(one.get());
    }
    threads.shutdown();
    assertEquals(List.of(), wrong);
  }

  private List<String> wrongAnswers(Outgoing outgoing) {
    List<String> wrong = new ArrayList<>();
    for (int i = 0; i < EACH; i++) {
      String said = "n=" + i;
      try {
        Outgoing.Answer answer = outgoing.send(sent(said));
        if (!answer.body().equals(said)) {
          wrong.add(said + ": " + answer.body());
        }
      } catch (IOException failed) {
        wrong.add(said + ": " + failed + " " + failed.getCause());
      }
    }
    return wrong;
  }

  private Outgoing.Sent sent(String query) {
    return new Outgoing.Sent(
        "GET",
        URI.create("http://localhost:" + server.getAddress().getPort() + "/?" + query),
        List.of(InetAddress.getLoopbackAddress()),
        Map.of(),
        Optional.empty(),
        Duration.ofSeconds(20));
  }
}
