package org.tidemark.bench;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.IOException;
import java.lang.management.ManagementFactory;
import java.nio.charset.StandardCharsets;
import java.util.Locale;

/**
 * Times the handover of a plan with years of daily reports between two running services on the same
 * machine, of which the second trusts the first: writing and signing the document, and taking it
 * over.
 */
public final class HandoverBenchmark {
  private static final ObjectMapper JSON = new ObjectMapper();
  private static final int ROUNDS = 3;

  private HandoverBenchmark() {}

  /**
   * Measures two running services.
   *
   * @param args the base of the first ({@code http://localhost:8080/fhir}), that of the second
   *     ({@code http://localhost:8090/fhir}), and how many days of reports the plan has (1095)
   */
  public static void main(String[] args) throws IOException {
    BenchClient giver = new BenchClient(args.length > 0 ? args[0] : "http://localhost:8080/fhir");
    BenchClient taker = new BenchClient(args.length > 1 ? args[1] : "http://localhost:8090/fhir");
    int days = args.length > 2 ? Integer.parseInt(args[2]) : 3 * 365;
    say(
        "%d processors, JDK %s, load average %.1f",
        Runtime.getRuntime().availableProcessors(),
        Runtime.version(),
        ManagementFactory.getOperatingSystemMXBean().getSystemLoadAverage());
    BenchPerson person = new BenchPerson(giver);
    person.enrol();
    for (int day = 0; day < days; day++) {
      person.liveOneDay();
    }
    String document = "";
    for (int round = 1; round <= ROUNDS; round++) {
      long began = System.nanoTime();
      document = giver.get("CarePlan/" + person.planId() + "/$handover");
      say("written and signed in %.2f s", seconds(began));
    }
    JsonNode records = JSON.readTree(document).get("entry");
    say(
        "%d days: %d records, %.1f MB",
        days, records.size(), document.getBytes(StandardCharsets.UTF_8).length / 1e6);
    for (int round = 1; round <= 2; round++) {
      long began = System.nanoTime();
      String receipt = taker.post("$receive-handover", document);
      say(
          "received in %.2f s, changed: %s",
          seconds(began), receipt.contains("\"valueBoolean\":true"));
    }
    System.exit(0);
  }

  private static double seconds(long began) {
    return (System.nanoTime() - began) / 1e9;
  }

  private static void say(String format, Object... values) {
    System.out.println(String.format(Locale.ROOT, format, values));
  }
}
