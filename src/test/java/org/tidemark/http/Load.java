package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpResponse;
import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Queue;
import java.util.concurrent.ConcurrentHashMap;
import java.util.concurrent.ConcurrentLinkedQueue;
import java.util.concurrent.atomic.AtomicInteger;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Resource;

/**
 * Writers that post for as long as they are answered, and what the service has acknowledged to
 * them: reports of people with plans, and transactions of measurements that no plan needs.
 */
final class Load {
  /** Days of reports; later ones would lie in the future. */
  private static final int MOST_DAYS = 200;

  private static final Duration PATIENCE = Duration.ofSeconds(30);
  static final int IN_A_BUNDLE = 5;

  private final HttpClient client =
      HttpClient.newBuilder().version(HttpClient.Version.HTTP_1_1).build();
  private final List<Thread> writers = new ArrayList<>();

  /** The texts of acknowledged versions, by their addresses. */
  private final Map<String, String> acknowledged = new ConcurrentHashMap<>();

  /** Addresses of records that came in one acknowledged transaction. */
  private final Queue<String> inTransactions = new ConcurrentLinkedQueue<>();

  private final Queue<HttpResponse<String>> refused = new ConcurrentLinkedQueue<>();
  private final AtomicInteger answered = new AtomicInteger();
  private final int pauseMs;
  private volatile boolean stopped;

  /** Writers who send as fast as they are answered. */
  Load() {
    this(0);
  }

  /** Writers who rest after each answer. */
  Load(int pauseMs) {
    this.pauseMs = pauseMs;
  }

  /** Posts the reports of a person from a day on; returns at once. */
  void reports(PlanPerson person, int firstDay) {
    begin(
        number -> {
          int day = firstDay + number / 2 % MOST_DAYS;
          Resource report = number % 2 == 0 ? person.session(day) : person.morning(day);
          return post("/" + report.fhirType(), report);
        });
  }

  /** Posts transactions about a person; returns at once. */
  void transactions(PlanPerson person) {
    begin(
        number -> {
          Bundle bundle = new Bundle().setType(Bundle.BundleType.TRANSACTION);
          for (int i = 0; i < IN_A_BUNDLE; i++) {
            Observation observation =
                (Observation)
                    PlanPerson.CONTEXT
                        .newJsonParser()
                        .parseResource(
                            Fhir.observation(
                                "x", "8867-4", PlanPerson.at(1, "10:00"), "" + number));
            observation.getSubject().setReference(person.subject);
            bundle
                .addEntry()
                .setResource(observation)
                .getRequest()
                .setMethod(Bundle.HTTPVerb.POST)
                .setUrl("Observation");
          }
          return post("", bundle);
        });
  }

  private interface Post {
    HttpResponse<String> send(int number) throws IOException, InterruptedException;
  }

  private void begin(Post post) {
    Thread writer = new Thread(() -> write(post), "writer");
    writers.add(writer);
    writer.start();
  }

  private void write(Post post) {
    try {
      for (int number = 0; !stopped; number++) {
        HttpResponse<String> answer = post.send(number);
        if (answer.statusCode() / 100 != 2) {
          refused.add(answer);
          return;
        }
        keep(answer);
        answered.incrementAndGet();
        Thread.sleep(pauseMs);
      }
    } catch (IOException killed) {
      // Nobody answers any more, so nothing was acknowledged.
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
    }
  }

  private void keep(HttpResponse<String> answer) {
    if (answer.statusCode() == 201) {
      acknowledged.put(answer.headers().firstValue("Location").orElseThrow(), answer.body());
      return;
    }
    Bundle bundle = PlanPerson.CONTEXT.newJsonParser().parseResource(Bundle.class, answer.body());
    bundle.getEntry().forEach(entry -> inTransactions.add(entry.getResponse().getLocation()));
  }

  private HttpResponse<String> post(String path, Resource body)
      throws IOException, InterruptedException {
    return client.send(
        HttpRequest.newBuilder(URI.create(PlanPerson.BASE + path))
            .timeout(PATIENCE)
            .header("Content-Type", Fhir.JSON)
            .header("Prefer", "return=representation")
            .POST(HttpRequest.BodyPublishers.ofString(PlanPerson.json(body)))
            .build(),
        HttpResponse.BodyHandlers.ofString());
  }

  /** Waits until so many more requests were answered. */
  void awaitAnswers(int more) throws InterruptedException {
    int wanted = answered.get() + more;
    while (answered.get() < wanted) {
      assertTrue(
          writers.stream().anyMatch(Thread::isAlive), "no writer goes on: " + refused.peek());
      Thread.sleep(10);
    }
  }

  /** Requires that no writer has ended by itself. */
  void requireThatAllGoOn() {
    assertTrue(writers.stream().allMatch(Thread::isAlive), "a writer has ended: " + refused.peek());
  }

  /** Waits until no writer is answered any more. */
  void awaitEnd() throws InterruptedException {
    for (Thread writer : writers) {
      writer.join();
    }
    writers.clear();
  }

  /** Ends the writers after their present requests. */
  void stop() throws InterruptedException {
    stopped = true;
    awaitEnd();
  }

  /** The answers that refused something. */
  List<HttpResponse<String>> refusals() {
    return List.copyOf(refused);
  }

  /** How many records came in acknowledged transactions. */
  int inTransactions() {
    return inTransactions.size();
  }

  int acknowledged() {
    return acknowledged.size() + inTransactions.size();
  }

  /**
   * Requires that each acknowledged version is there, in the very text it was acknowledged with.
   */
  void requireAll() throws IOException, InterruptedException {
    for (Map.Entry<String, String> version : acknowledged.entrySet()) {
      HttpResponse<String> now = get(version.getKey());
      assertEquals(200, now.statusCode(), version.getKey());
      assertEquals(version.getValue(), now.body(), version.getKey());
    }
    for (String location : inTransactions) {
      assertEquals(
          200,
          get(location.startsWith("http") ? location : PlanPerson.BASE + "/" + location)
              .statusCode(),
          location);
    }
  }

  private HttpResponse<String> get(String address) throws IOException, InterruptedException {
    return client.send(
        HttpRequest.newBuilder(URI.create(address)).timeout(PATIENCE).build(),
        HttpResponse.BodyHandlers.ofString());
  }
}
