package org.tidemark.bench;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.sun.net.httpserver.HttpExchange;
import com.sun.net.httpserver.HttpServer;
import java.io.IOException;
import java.lang.management.ManagementFactory;
import java.net.InetSocketAddress;
import java.time.Instant;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.concurrent.ConcurrentLinkedQueue;
import java.util.concurrent.Executors;
import java.util.concurrent.atomic.AtomicLong;

/**
 * Times the delivery of a running service on the same machine to many subscriptions while reports
 * come in: how many events a second arrive, and how long after they happened. The service needs
 * {@code TIDEMARK_SUBSCRIPTIONS_ALLOWED_HOSTS=127.0.0.1}.
 */
public final class SubscriptionBenchmark {
  private static final ObjectMapper JSON = new ObjectMapper();
  private static final int PEOPLE = 20;
  private static final long PATIENCE_MS = 120_000;
  private static final String GUIDE =
      "http://hl7.org/fhir/uv/subscriptions-backport/StructureDefinition/backport-";

  private final BenchClient client;
  private final ConcurrentLinkedQueue<Long> lags = new ConcurrentLinkedQueue<>();
  private final AtomicLong handshakes = new AtomicLong();
  private final AtomicLong last = new AtomicLong();

  private SubscriptionBenchmark(String base) {
    this.client = new BenchClient(base);
  }

  /**
   * Measures a running service.
   *
   * @param args its base ({@code http://localhost:8080/fhir}), how many subscriptions (1000), to
   *     how many endpoints (50), and for how many seconds reports come in (20)
   */
  public static void main(String[] args) throws IOException, InterruptedException {
    String base = args.length > 0 ? args[0] : "http://localhost:8080/fhir";
    int subscriptions = args.length > 1 ? Integer.parseInt(args[1]) : 1_000;
    int endpoints = args.length > 2 ? Integer.parseInt(args[2]) : 50;
    int seconds = args.length > 3 ? Integer.parseInt(args[3]) : 20;
    new SubscriptionBenchmark(base).run(subscriptions, endpoints, seconds);
  }

  private void run(int subscriptions, int endpoints, int seconds)
      throws IOException, InterruptedException {
    say(
        "%d processors, JDK %s, load average %.1f",
        Runtime.getRuntime().availableProcessors(),
        Runtime.version(),
        ManagementFactory.getOperatingSystemMXBean().getSystemLoadAverage());
    HttpServer server = HttpServer.create(new InetSocketAddress("127.0.0.1", 0), 0);
    server.createContext("/", this::take);
    server.setExecutor(Executors.newCachedThreadPool());
    server.start();
    List<BenchPerson> people = new ArrayList<>();
    for (int i = 0; i < PEOPLE; i++) {
      BenchPerson person = new BenchPerson(client);
      person.enrol();
      people.add(person);
    }
    long began = System.nanoTime();
    for (int i = 0; i < subscriptions; i++) {
      String hook = "http://127.0.0.1:" + server.getAddress().getPort() + "/hook/" + i % endpoints;
      client.post("Subscription", subscription(people.get(i % PEOPLE), hook));
    }
    await(handshakes, subscriptions);
    say(
        "%d subscriptions to %d endpoints made and shaken hands with: %.1f s",
        subscriptions, endpoints, (System.nanoTime() - began) / 1e9);
    began = System.nanoTime();
    int reports = 0;
    while ((System.nanoTime() - began) / 1e9 < seconds) {
      people.get(reports % PEOPLE).liveOneDay();
      reports++;
    }
    double reporting = (System.nanoTime() - began) / 1e9;
    long quiet = 0;
    for (int before = -1; quiet < 50; quiet = lags.size() == before ? quiet + 1 : 0) {
      before = lags.size();
      Thread.sleep(100);
    }
    say(
        "%d sessions and mornings each in %.1f s: %.1f a second",
        reports, reporting, 2 * reports / reporting);
    double took = (last.get() - began) / 1e9;
    List<Long> sorted = lags.stream().sorted().toList();
    say(
        "%d events delivered within %.1f s: %.0f a second; lag median %d ms, 99 %% %d ms",
        sorted.size(),
        took,
        sorted.size() / took,
        sorted.get(sorted.size() / 2),
        sorted.get(sorted.size() * 99 / 100));
    server.stop(0);
    System.exit(0);
  }

  private static void await(AtomicLong counted, int wanted) throws InterruptedException {
    long until = System.currentTimeMillis() + PATIENCE_MS;
    while (counted.get() < wanted) {
      if (System.currentTimeMillis() > until) {
        throw new IllegalStateException("only " + counted + " of " + wanted + " came");
      }
      Thread.sleep(50);
    }
  }

  private void take(HttpExchange exchange) throws IOException {
    JsonNode status = JSON.readTree(exchange.getRequestBody()).at("/entry/0/resource/parameter");
    long now = System.currentTimeMillis();
    last.set(System.nanoTime());
    for (JsonNode parameter : status) {
      if (parameter.path("valueCode").asText().equals("handshake")) {
        handshakes.incrementAndGet();
      }
      for (JsonNode part : parameter.path("part")) {
        if (part.path("name").asText().equals("timestamp")) {
          lags.add(now - Instant.parse(part.path("valueInstant").asText()).toEpochMilli());
        }
      }
    }
    exchange.sendResponseHeaders(200, -1);
    exchange.close();
  }

  private static String subscription(BenchPerson person, String hook) {
    return ("{'resourceType':'Subscription','status':'requested','reason':'measured','criteria':"
            + "'https://tidemark.example/fhir/SubscriptionTopic/plan-changed','_criteria':{"
            + "'extension':[{'url':'%sfilter-criteria','valueString':'CarePlan?plan=%s'}]},"
            + "'channel':{'type':'rest-hook','endpoint':'%s','payload':'application/fhir+json',"
            + "'_payload':{'extension':[{'url':'%spayload-content','valueCode':'id-only'}]}}}")
        .replace('\'', '"')
        .formatted(GUIDE, person.planId(), hook, GUIDE);
  }

  private static void say(String format, Object... values) {
    System.out.println(String.format(Locale.ROOT, format, values));
  }
}
