package org.tidemark.bench;

import ca.uhn.fhir.context.FhirContext;
import java.io.IOException;
import java.lang.management.ManagementFactory;
import java.nio.file.Files;
import java.nio.file.Path;
import java.sql.Connection;
import java.sql.PreparedStatement;
import java.sql.SQLException;
import java.time.LocalDate;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.Collections;
import java.util.List;
import java.util.Locale;
import java.util.Properties;
import java.util.UUID;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import java.util.concurrent.ThreadLocalRandom;
import java.util.stream.Collectors;
import java.util.stream.IntStream;
import org.tidemark.store.DurableH2Driver;

/**
 * Puts a running service under load from several connections, one kind of request after the other,
 * and measures in the same run what HAPI alone and a forced commit alone can do on this machine.
 */
public final class LoadBenchmark {
  private static final int CONNECTIONS = 16;
  private static final int PEOPLE = 100;
  private static final int IN_A_TRANSACTION = 50;
  private static final int PLANS_A_CONNECTION = 5;

  private final BenchClient client;
  private final long seconds;
  private final int kept;
  private final List<String> people = new ArrayList<>();
  private final List<String> stored = Collections.synchronizedList(new ArrayList<>());

  private LoadBenchmark(String base, long seconds, int kept) {
    this.client = new BenchClient(base);
    this.seconds = seconds;
    this.kept = kept;
  }

  /**
   * Measures a running service.
   *
   * @param args its base ({@code http://localhost:8080/fhir}; of several instances, which are asked
   *     in turns, with commas between), and how many seconds each kind of request is sent (10), how
   *     many Observations are in the store before (20000), and how many seconds each kind is sent
   *     unmeasured, in turn, before anything is measured (60), as Java's compiler takes most of the
   *     processor in the first minutes, and a part of the name of the kinds that are wanted (all,
   *     with what bounds them)
   */
  public static void main(String[] args) throws Exception {
    String base = args.length > 0 ? args[0] : "http://localhost:8080/fhir";
    long seconds = args.length > 1 ? Long.parseLong(args[1]) : 10;
    int kept = args.length > 2 ? Integer.parseInt(args[2]) : 20_000;
    long warming = args.length > 3 ? Long.parseLong(args[3]) : 60;
    String wanted = args.length > 4 ? args[4] : "";
    new LoadBenchmark(base, seconds, kept).run(warming, wanted);
  }

  private interface Work {
    void once(int connection) throws IOException;
  }

  /** A kind of request, each of which carries so many records. */
  private record Kind(String what, int each, Work work) {}

  private void run(long warming, String wanted) throws Exception {
    say(
        "%d processors, JDK %s, load average %.1f, %d connections",
        Runtime.getRuntime().availableProcessors(),
        Runtime.version(),
        ManagementFactory.getOperatingSystemMXBean().getSystemLoadAverage(),
        CONNECTIONS);
    fill();
    List<List<BenchPerson>> plans = enrol();
    List<Kind> all =
        List.of(
            new Kind("session report of a plan, with its decision", 1, c -> live(plans.get(c))),
            new Kind(
                "Observation that no plan needs",
                1,
                c -> client.post("Observation", observation(any(people)))),
            new Kind(
                "transaction of " + IN_A_TRANSACTION + ", of one person",
                IN_A_TRANSACTION,
                c -> client.post("", transaction(IN_A_TRANSACTION, List.of(any(people))))),
            new Kind(
                "transaction of " + IN_A_TRANSACTION + ", of anyone",
                IN_A_TRANSACTION,
                c -> client.post("", transaction(IN_A_TRANSACTION, people))),
            new Kind("read", 1, c -> client.get("Observation/" + any(stored))),
            new Kind(
                "page of 50",
                1,
                c -> client.get("Observation?subject=" + any(people) + "&_count=50")));
    List<Kind> kinds = all.stream().filter(kind -> kind.what().contains(wanted)).toList();
    for (Kind kind : kinds) {
      load(CONNECTIONS, warming, kind.work());
    }
    for (Kind kind : kinds) {
      measure(kind);
    }
    if (wanted.isEmpty()) {
      hapiAlone();
      commitsAlone(1);
      commitsAlone(CONNECTIONS);
    }
    say("load average %.1f", ManagementFactory.getOperatingSystemMXBean().getSystemLoadAverage());
  }

  private void fill() throws IOException {
    for (int i = 0; i < PEOPLE; i++) {
      String id = UUID.randomUUID().toString();
      client.put("Patient/" + id, "{\"resourceType\":\"Patient\",\"id\":\"" + id + "\"}");
      people.add("Patient/" + id);
    }
    long began = System.nanoTime();
    for (int sent = 0; sent < kept; sent += 500) {
      String answer = client.post("", transaction(500, people));
      Arrays.stream(answer.split("\"location\": ?\"Observation/"))
          .skip(1)
          .forEach(part -> stored.add(part.substring(0, part.indexOf('/'))));
    }
    double took = (System.nanoTime() - began) / 1e9;
    say("%d Observations of %d people stored, %.0f a second", kept, PEOPLE, kept / took);
    if (stored.size() != kept) {
      throw new IllegalStateException("only " + stored.size() + " are told to be stored");
    }
  }

  private List<List<BenchPerson>> enrol() throws IOException {
    List<List<BenchPerson>> all = new ArrayList<>();
    for (int connection = 0; connection < CONNECTIONS; connection++) {
      List<BenchPerson> plans = new ArrayList<>();
      for (int i = 0; i < PLANS_A_CONNECTION; i++) {
        BenchPerson person = new BenchPerson(client);
        person.enrol();
        plans.add(person);
      }
      all.add(plans);
    }
    return all;
  }

  /** Each person in turn has the session of one more day. */
  private static void live(List<BenchPerson> plans) throws IOException {
    BenchPerson next = plans.remove(0);
    next.trainOneDay();
    plans.add(next);
  }

  private void measure(Kind kind) throws Exception {
    load(CONNECTIONS, seconds / 2, kind.work());
    List<long[]> took = load(CONNECTIONS, seconds, kind.work());
    long[] all = took.stream().flatMapToLong(Arrays::stream).sorted().toArray();
    say(
        "%-45s %8.0f a second   median %7.2f ms   99th percentile %7.2f ms",
        kind.what(),
        (double) all.length * kind.each() / seconds,
        all[all.length / 2] / 1e6,
        all[(int) (all.length * 0.99)] / 1e6);
  }

  private static List<long[]> load(int connections, long forSeconds, Work work) throws Exception {
    ExecutorService pool = Executors.newFixedThreadPool(connections);
    long end = System.nanoTime() + forSeconds * 1_000_000_000L;
    List<Future<long[]>> running = new ArrayList<>();
    for (int i = 0; i < connections; i++) {
      int connection = i;
      running.add(
          pool.submit(
              () -> {
                List<Long> took = new ArrayList<>();
                while (System.nanoTime() < end) {
                  long began = System.nanoTime();
                  work.once(connection);
                  took.add(System.nanoTime() - began);
                }
                return took.stream().mapToLong(Long::longValue).toArray();
              }));
    }
    List<long[]> all = new ArrayList<>();
    for (Future<long[]> one : running) {
      all.add(one.get());
    }
    pool.shutdown();
    return all;
  }

  // ---- ceilings ----

  /** One thread parses and encodes the same Observation with HAPI, without server and store. */
  private void hapiAlone() {
    FhirContext context = FhirContext.forR4Cached();
    String text = observation("Patient/x");
    org.hl7.fhir.instance.model.api.IBaseResource parsed =
        context.newJsonParser().parseResource(text);
    say("HAPI alone, one core: %.0f parses a second", rate(() -> parse(context, text)));
    say(
        "HAPI alone, one core: %.0f encodes a second",
        rate(() -> context.newJsonParser().encodeResourceToString(parsed)));
  }

  private static void parse(FhirContext context, String text) {
    context.newJsonParser().parseResource(text);
  }

  private double rate(Runnable work) {
    long done = 0;
    for (long end = System.nanoTime() + 3_000_000_000L; System.nanoTime() < end; ) {
      work.run();
    }
    long began = System.nanoTime();
    while (System.nanoTime() < began + seconds * 500_000_000L) {
      work.run();
      done++;
    }
    return done / ((System.nanoTime() - began) / 1e9);
  }

  /** A row of the size of an Observation, and a forced commit, again and again. */
  private void commitsAlone(int connections) throws Exception {
    Path folder = Files.createTempDirectory("commits");
    String url = "jdbc:h2:fsync:" + folder.resolve("commits") + ";RETENTION_TIME=0";
    String row = observation("Patient/x");
    try (Connection keep = new DurableH2Driver().connect(url, new Properties())) {
      keep.createStatement().execute("create table one (id varchar(36) primary key, json text)");
      ThreadLocal<PreparedStatement> insert = ThreadLocal.withInitial(() -> insert(url));
      List<long[]> took =
          load(
              connections,
              Math.max(1, seconds / 2),
              c -> {
                try {
                  insert.get().setString(1, UUID.randomUUID().toString());
                  insert.get().setString(2, row);
                  insert.get().executeUpdate();
                  insert.get().getConnection().commit();
                } catch (SQLException e) {
                  throw new IllegalStateException(e);
                }
              });
      long commits = took.stream().mapToLong(one -> one.length).sum();
      say(
          "forced commit alone, H2, %d connections: %.0f a second",
          connections, (double) commits / Math.max(1, seconds / 2));
    }
  }

  private static PreparedStatement insert(String url) {
    try {
      Connection connection = new DurableH2Driver().connect(url, new Properties());
      connection.setAutoCommit(false);
      return connection.prepareStatement("insert into one values (?, ?)");
    } catch (SQLException e) {
      throw new IllegalStateException(e);
    }
  }

  // ---- what is sent ----

  private static String observation(String subject) {
    ThreadLocalRandom random = ThreadLocalRandom.current();
    LocalDate day = LocalDate.of(2020, 1, 1).plusDays(random.nextInt(2_000));
    return """
        {"resourceType":"Observation","status":"final",
         "identifier":[{"system":"urn:ietf:rfc:3986","value":"urn:uuid:%s"}],
         "category":[{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/observation-category","code":"vital-signs","display":"Vital Signs"}]}],
         "code":{"coding":[{"system":"http://loinc.org","code":"29463-7","display":"Body weight"}],"text":"Body weight"},
         "subject":{"reference":"%s"},
         "effectiveDateTime":"%sT07:30:00Z",
         "issued":"%sT07:31:00Z",
         "performer":[{"display":"%s"}],
         "valueQuantity":{"value":%d.%d,"unit":"kg","system":"http://unitsofmeasure.org","code":"kg"},
         "note":[{"text":"%s"}]}"""
        .formatted(
            UUID.randomUUID(),
            subject,
            day,
            day,
            "The scales in the hall",
            50 + random.nextInt(60),
            random.nextInt(10),
            "Weighed before breakfast, in light clothes, on the scales in the hall. ".repeat(6));
  }

  private static String transaction(int entries, List<String> subjects) {
    return IntStream.range(0, entries)
        .mapToObj(
            i ->
                "{\"resource\":"
                    + observation(any(subjects))
                    + ",\"request\":{\"method\":\"POST\",\"url\":\"Observation\"}}")
        .collect(
            Collectors.joining(
                ",", "{\"resourceType\":\"Bundle\",\"type\":\"transaction\",\"entry\":[", "]}"));
  }

  private static String any(List<String> of) {
    return of.get(ThreadLocalRandom.current().nextInt(of.size()));
  }

  private static void say(String format, Object... values) {
    System.out.println(String.format(Locale.ROOT, format, values));
  }
}
