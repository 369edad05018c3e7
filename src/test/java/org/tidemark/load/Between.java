package org.tidemark.load;

import com.sun.net.httpserver.HttpExchange;
import com.sun.net.httpserver.HttpServer;
import java.io.IOException;
import java.net.InetAddress;
import java.net.InetSocketAddress;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpResponse;
import java.nio.charset.StandardCharsets;
import java.util.List;
import java.util.concurrent.CopyOnWriteArrayList;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;

/** Stands between the loader and the service, keeps what is sent, and disturbs it. */
final class Between implements AutoCloseable {
  private static final String SERVICE = "http://localhost:8081/fhir";

  /** What becomes of a transaction. */
  enum Fate {
    PASS,
    LOSE_THE_ANSWER,
    LOSE_THE_REQUEST,
    TELL_TO_WAIT
  }

  /** Decides on each transaction, by its number from 1. */
  interface Fates {
    Fate of(int number);
  }

  private final HttpClient client = HttpClient.newHttpClient();
  private final ExecutorService threads = Executors.newCachedThreadPool();
  private final HttpServer server;
  private final Fates fates;

  /** The transactions that came, in the order in which they came. */
  final List<String> transactions = new CopyOnWriteArrayList<>();

  /** When each of them came, in nanoseconds. */
  final List<Long> times = new CopyOnWriteArrayList<>();

  Between(Fates fates) throws IOException {
    this.fates = fates;
    server = HttpServer.create(new InetSocketAddress(InetAddress.getLoopbackAddress(), 0), 0);
    server.setExecutor(threads);
    server.createContext("/", this::handle);
    server.start();
  }

  String base() {
    return "http://localhost:" + server.getAddress().getPort() + "/fhir";
  }

  private void handle(HttpExchange exchange) throws IOException {
    try (exchange) {
      String body = new String(exchange.getRequestBody().readAllBytes(), StandardCharsets.UTF_8);
      Fate fate = Fate.PASS;
      if (body.contains("\"transaction\"")) {
        times.add(System.nanoTime());
        transactions.add(body);
        fate = fates.of(transactions.size());
      }
      switch (fate) {
        case LOSE_THE_REQUEST -> {}
        case TELL_TO_WAIT -> {
          exchange.getResponseHeaders().add("Retry-After", "2");
          exchange.sendResponseHeaders(503, -1);
        }
        case LOSE_THE_ANSWER -> forward(exchange, body);
        case PASS -> {
          HttpResponse<byte[]> answer = forward(exchange, body);
          exchange.sendResponseHeaders(answer.statusCode(), answer.body().length);
          exchange.getResponseBody().write(answer.body());
        }
      }
    }
  }

  private HttpResponse<byte[]> forward(HttpExchange exchange, String body) throws IOException {
    String path = exchange.getRequestURI().toString().substring("/fhir".length());
    HttpRequest.Builder request =
        HttpRequest.newBuilder(URI.create(SERVICE + path))
            .header("Accept", "application/fhir+json")
            .header("Content-Type", "application/fhir+json");
    try {
      return client.send(
          exchange.getRequestMethod().equals("GET")
              ? request.GET().build()
              : request.POST(HttpRequest.BodyPublishers.ofString(body)).build(),
          HttpResponse.BodyHandlers.ofByteArray());
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
      throw new IOException(e);
    }
  }

  @Override
  public void close() {
    server.stop(0);
    threads.shutdownNow();
  }
}
