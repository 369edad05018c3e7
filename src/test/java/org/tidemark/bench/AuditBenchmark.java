package org.tidemark.bench;

import java.io.IOException;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.UUID;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;

/**
 * What the audit trail costs: the same load on two services that run at the same time, one with
 * {@code tidemark.audit=on} and one with {@code off}, in turns within one run.
 */
public final class AuditBenchmark {
  private static final int CONNECTIONS = 8;
  private static final int PLANS = 40;

  private final long millis;

  private AuditBenchmark(long millis) {
    this.millis = millis;
  }

  /**
   * Measures two running services.
   *
   * @param args the base of the one that audits, that of the other, how many rounds (10), and how
   *     many seconds each kind of request is sent in a round (4)
   */
  public static void main(String[] args) throws Exception {
    int rounds = args.length > 2 ? Integer.parseInt(args[2]) : 10;
    long seconds = args.length > 3 ? Long.parseLong(args[3]) : 4;
    new AuditBenchmark(seconds * 1000).run(args[0], args[1], rounds);
  }

  private interface Work {
    void once(int connection) throws IOException;
  }

  /** One of the services, with people on plans and a record to be read. */
  private final class Service {
    private final BenchClient client;
    private final List<List<BenchPerson>> people = new ArrayList<>();
    private final String patient = "Patient/" + UUID.randomUUID();

    Service(String base) throws IOException {
      client = new BenchClient(base);
      String body =
          "{\"resourceType\":\"Patient\",\"id\":\""
              + patient.substring("Patient/".length())
              + "\"}";
      client.put(patient, body);
      for (int connection = 0; connection < CONNECTIONS; connection++) {
        List<BenchPerson> plans = new ArrayList<>();
        for (int i = 0; i < PLANS / CONNECTIONS; i++) {
          BenchPerson person = new BenchPerson(client);
          person.enrol();
          plans.add(person);
        }
        people.add(plans);
      }
    }

    void read(int connection) throws IOException {
      client.get(patient);
    }

    /** Each person in turn has the session of one more day. */
    void report(int connection) throws IOException {
      BenchPerson next = people.get(connection).remove(0);
      next.trainOneDay();
      people.get(connection).add(next);
    }
  }

  private void run(String audited, String other, int rounds) throws Exception {
    Service on = new Service(audited);
    Service off = new Service(other);
    measure("read", rounds, on::read, off::read);
    measure("session report with its decision", rounds, on::report, off::report);
  }

  /** The first quarter of the rounds warms up; who goes first changes with each. */
  private void measure(String what, int rounds, Work on, Work off) throws Exception {
    List<Double> ratios = new ArrayList<>();
    double[] all = new double[2];
    int warm = Math.max(1, rounds / 4);
    for (int round = 0; round < rounds + warm; round++) {
      boolean first = round % 2 == 0;
      double one = rate(first ? on : off);
      double two = rate(first ? off : on);
      if (round >= warm) {
        double audited = first ? one : two;
        double not = first ? two : one;
        all[0] += audited / rounds;
        all[1] += not / rounds;
        ratios.add(audited / not);
      }
    }
    double[] sorted = ratios.stream().mapToDouble(Double::doubleValue).sorted().toArray();
    System.out.println(
        String.format(
            Locale.ROOT,
            "%-34s audited %7.0f a second, not %7.0f; ratio: median %.3f, of %d rounds %.3f to %.3f",
            what,
            all[0],
            all[1],
            sorted[sorted.length / 2],
            rounds,
            Arrays.stream(sorted).min().orElseThrow(),
            Arrays.stream(sorted).max().orElseThrow()));
  }

  /** How many a second. */
  private double rate(Work work) throws Exception {
    ExecutorService pool = Executors.newFixedThreadPool(CONNECTIONS);
    long began = System.nanoTime();
    long end = began + millis * 1_000_000L;
    List<Future<Long>> running = new ArrayList<>();
    for (int i = 0; i < CONNECTIONS; i++) {
      int connection = i;
      running.add(
          pool.submit(
              () -> {
                long done = 0;
                while (System.nanoTime() < end) {
                  work.once(connection);
                  done++;
                }
                return done;
              }));
    }
    long done = 0;
    for (Future<Long> one : running) {
      done += one.get();
    }
    pool.shutdown();
    return done / ((System.nanoTime() - began) / 1e9);
  }
}
