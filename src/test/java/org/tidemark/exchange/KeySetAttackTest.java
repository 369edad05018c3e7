package org.tidemark.exchange;

import static org.junit.jupiter.api.Assertions.assertEquals;

import com.sun.net.httpserver.HttpExchange;
import com.sun.net.httpserver.HttpServer;
import io.vertx.core.Vertx;
import java.io.IOException;
import java.io.OutputStream;
import java.net.InetAddress;
import java.net.InetSocketAddress;
import java.net.ServerSocket;
import java.net.URI;
import java.nio.charset.StandardCharsets;
import java.time.Duration;
import java.util.List;
import java.util.Optional;
import java.util.concurrent.CountDownLatch;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.atomic.AtomicInteger;
import org.jose4j.jwk.EcJwkGenerator;
import org.jose4j.jwk.JsonWebKeySet;
import org.jose4j.jws.JsonWebSignature;
import org.jose4j.keys.EllipticCurves;
import org.jose4j.keys.resolvers.VerificationKeyResolver;
import org.jose4j.lang.UnresolvableKeyException;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.tidemark.http.Attack;

/**
 * An authorization server that was taken over, or who stands in its place, does not lead the
 * service elsewhere, fill its memory or hold its threads when keys are fetched.
 */
class KeySetAttackTest {
  private static final Duration PATIENCE = Duration.ofSeconds(20);
  private static final Duration SHORT = Duration.ofMillis(300);

  private final Vertx vertx = Vertx.vertx();
  private final Outgoing outgoing = new Outgoing(vertx, new OutgoingTls(null, Optional.empty()));
  private final FetchedKeySet keys = new FetchedKeySet(outgoing);
  private final ExecutorService threads = Executors.newCachedThreadPool();
  private final CountDownLatch over = new CountDownLatch(1);
  private final AtomicInteger askedElsewhere = new AtomicInteger();
  private HttpServer issuer;
  private HttpServer elsewhere;
  private String jwks;

  /** What the issuer answers with. */
  @FunctionalInterface
  private interface Answering {
    void to(HttpExchange exchange) throws IOException;
  }

  private volatile Answering answering;

  @BeforeEach
  void start() throws Exception {
    jwks = new JsonWebKeySet(EcJwkGenerator.generateJwk(EllipticCurves.P256)).toJson();
    issuer = server(exchange -> answering.to(exchange));
    elsewhere =
        server(
            exchange -> {
              askedElsewhere.incrementAndGet();
              answer(exchange, 200, jwks);
            });
  }

  private HttpServer server(Answering by) throws IOException {
    HttpServer server =
        HttpServer.create(new InetSocketAddress(InetAddress.getLoopbackAddress(), 0), 0);
    server.setExecutor(threads);
    server.createContext(
        "/",
        exchange -> {
          try (exchange) {
            by.to(exchange);
          }
        });
    server.start();
    return server;
  }

  @AfterEach
  void stop() {
    over.countDown();
    issuer.stop(0);
    elsewhere.stop(0);
    threads.shutdownNow();
    outgoing.stop();
    vertx.close().toCompletionStage().toCompletableFuture().join();
  }

  private static void answer(HttpExchange exchange, int status, String body) throws IOException {
    byte[] bytes = body.getBytes(StandardCharsets.UTF_8);
    exchange.sendResponseHeaders(status, bytes.length == 0 ? -1 : bytes.length);
    exchange.getResponseBody().write(bytes);
  }

  private static URI at(HttpServer server) {
    return URI.create("http://127.0.0.1:" + server.getAddress().getPort() + "/jwks");
  }

  private void tried(Attack attack, String what, Duration patience, Answering by) {
    answering = by;
    try {
      attack.tried(what, true, keys.fetch(at(issuer), patience).body());
    } catch (IOException refused) {
      attack.tried(what, false, refused.toString());
    }
  }

  @Test
  void keysAreFetched() throws IOException {
    answering = exchange -> answer(exchange, 200, jwks);
    assertEquals(jwks, keys.read(at(issuer)));
  }

  /** Every status that leads elsewhere, to the same machine and to addresses inside. */
  @Test
  void redirections() {
    Attack attack = new Attack("redirections of the key set");
    List<String> targets =
        List.of(
            at(elsewhere).toString(),
            at(elsewhere).toString().replace("http:", "https:"),
            "//127.0.0.1:" + elsewhere.getAddress().getPort() + "/jwks",
            at(issuer) + "/other",
            "/other",
            "http://169.254.169.254/latest/meta-data",
            "http://10.0.0.1/jwks",
            "http://[::1]:" + elsewhere.getAddress().getPort() + "/jwks",
            "file:///etc/passwd");
    for (int status : List.of(300, 301, 302, 303, 305, 307, 308)) {
      for (String target : targets) {
        for (String body : List.of("", jwks)) {
          tried(
              attack,
              status + " " + target,
              PATIENCE,
              exchange -> {
                exchange.getResponseHeaders().add("Location", target);
                exchange.getResponseHeaders().add("Refresh", "0; url=" + target);
                answer(exchange, status, body);
              });
        }
      }
    }
    assertEquals(0, askedElsewhere.get(), "asked elsewhere");
    attack.end(7 * 9 * 2);
  }

  private List<String> noKeys() {
    return List.of(
        "",
        "{}",
        "[]",
        "null",
        "{\"keys\":[]}",
        "{\"keys\":null}",
        "{\"keys\":{}}",
        "{\"keys\":[null]}",
        "{\"keys\":[\"x\"]}",
        "{\"keys\":[{}]}",
        "{\"keys\":[{\"kty\":\"none\"}]}",
        "<html>sign in</html>",
        jwks.substring(0, jwks.length() / 2),
        "[".repeat(100_000));
  }

  /** Clinics and others whose keys a setting names are believed no more than the issuer. */
  @Test
  void answersThatAreNoKeysOfOthers() throws Exception {
    Attack attack = new Attack("answers that are no key set of others");
    JsonWebSignature signed = new JsonWebSignature();
    signed.setAlgorithmHeaderValue("ES256");
    signed.setKeyIdHeaderValue("one");
    for (String body : noKeys()) {
      answering = exchange -> answer(exchange, 200, body);
      VerificationKeyResolver others = new KeySets(keys).at(at(issuer).toString(), "a setting");
      try {
        attack.tried(body, true, others.resolveKey(signed, List.of()).toString());
      } catch (UnresolvableKeyException refused) {
        attack.tried(body, false, refused.toString());
      }
    }
    attack.end(14);
  }

  /** Answers that are no key set, or none of this request. */
  @Test
  void answersThatAreNoKeys() {
    Attack attack = new Attack("answers that are no key set");
    for (int status : List.of(201, 202, 203, 204, 206, 400, 401, 403, 404, 429, 500, 502, 503)) {
      String body = status == 204 ? "" : jwks;
      tried(attack, "" + status, PATIENCE, exchange -> answer(exchange, status, body));
    }
    for (String body : noKeys()) {
      tried(attack, body, PATIENCE, exchange -> answer(exchange, 200, body));
    }
    attack.end(27);
  }

  /** A body beyond 1 MiB, with its length said, in pieces and without an end. */
  @Test
  void answersWithoutMeasure() {
    Attack attack = new Attack("key sets without measure");
    String padded = jwks + " ".repeat(2 << 20);
    tried(attack, "2 MiB", PATIENCE, exchange -> answer(exchange, 200, padded));
    tried(attack, "2 MiB in pieces", PATIENCE, exchange -> pieces(exchange, padded));
    tried(
        attack,
        "without an end",
        PATIENCE,
        exchange -> {
          while (over.getCount() > 0) {
            pieces(exchange, padded);
          }
        });
    attack.end(3);
  }

  private static void pieces(HttpExchange exchange, String body) throws IOException {
    if (exchange.getResponseCode() < 0) {
      exchange.sendResponseHeaders(200, 0);
    }
    exchange.getResponseBody().write(body.getBytes(StandardCharsets.UTF_8));
  }

  /** Who says nothing, or a little now and then, is not waited for. */
  @Test
  void answersThatDoNotCome() throws Exception {
    Attack attack = new Attack("key sets that do not come");
    tried(attack, "nothing", SHORT, exchange -> sleep());
    tried(
        attack,
        "the head alone",
        SHORT,
        exchange -> {
          exchange.sendResponseHeaders(200, jwks.length());
          exchange.getResponseBody().flush();
          sleep();
        });
    tried(
        attack,
        "drop by drop",
        SHORT,
        exchange -> {
          exchange.sendResponseHeaders(200, 0);
          OutputStream body = exchange.getResponseBody();
          while (over.getCount() > 0) {
            body.write(' ');
            body.flush();
          }
        });
    try (ServerSocket silent = new ServerSocket(0, 1, InetAddress.getLoopbackAddress())) {
      URI at = URI.create("http://127.0.0.1:" + silent.getLocalPort() + "/jwks");
      try {
        attack.tried("a bare connection", true, keys.fetch(at, SHORT).body());
      } catch (IOException refused) {
        attack.tried("a bare connection", false, refused.toString());
      }
    }
    attack.end(4);
  }

  private void sleep() {
    try {
      over.await();
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
    }
  }
}
