package org.tidemark.bench;

import java.io.IOException;
import java.sql.Connection;
import java.sql.DriverManager;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.UUID;
import java.util.concurrent.ThreadLocalRandom;

/**
 * What a POST takes when much is stored: several running services, each on a PostgreSQL database of
 * its own size, are asked in turns, so that whatever else the machine does is the same for all.
 *
 * <p>The databases are filled by copies of the rows that one sent Observation and one Patient have
 * left, with ids, people, times and values of their own. One that has them is not filled again.
 */
public final class GrowthBenchmark {
  private static final int OF_EACH = 1_500;
  private static final int FEWEST_PEOPLE = 100;
  private static final int PLANS = 5;
  private static final int AT_ONCE = 50_000;

  private static final String OBSERVATION =
      """
      {"resourceType":"Observation","status":"final",
       "identifier":[{"system":"urn:ietf:rfc:3986","value":"urn:uuid:%s"}],
       "category":[{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/observation-category","code":"vital-signs"}]}],
       "code":{"coding":[{"system":"http://loinc.org","code":"29463-7","display":"Body weight"}]},
       "subject":{"reference":"%s"},"effectiveDateTime":"2019-03-04T07:30:00Z",
       "valueQuantity":{"value":71.5,"unit":"kg","system":"http://unitsofmeasure.org","code":"kg"},
       "note":[{"text":"%s"}]}""";

  /** One of the services. */
  private static final class Service {
    final int size;
    final BenchClient client;
    final List<BenchPerson> plans = new ArrayList<>();
    final int people;
    final List<Long> observations = new ArrayList<>();
    final List<Long> reports = new ArrayList<>();

    Service(String base, int size) {
      this.size = size;
      this.client = new BenchClient(base);
      this.people = Math.max(FEWEST_PEOPLE, size / OF_EACH);
    }

    void fill(String url, String user) throws IOException, SQLException {
      client.put("Patient/template", "{\"resourceType\":\"Patient\",\"id\":\"template\"}");
      client.put(
          "Observation/template",
          observation("Patient/template").replaceFirst("\\{", "{\"id\":\"template\","));
      try (Connection connection = DriverManager.getConnection(url, user, "");
          Statement sql = connection.createStatement()) {
        sql.execute("set tidemark.clinic = 'default'");
        if (isFilled(sql)) {
          return;
        }
        sql.execute("set synchronous_commit = off");
        copy(sql, "Patient", 0, people - 1);
        for (int from = 0; from < size; from += AT_ONCE) {
          copy(sql, "Observation", from, Math.min(size, from + AT_ONCE) - 1);
        }
        sql.execute("vacuum analyze");
      }
    }

    private boolean isFilled(Statement sql) throws SQLException {
      try (ResultSet last =
          sql.executeQuery(
              "select 1 from resource_current where clinic = 'default'"
                  + " and resource_type = 'Observation' and resource_id = 'g"
                  + (size - 1)
                  + "'")) {
        return last.next();
      }
    }

    private void copy(Statement sql, String type, int from, int to) throws SQLException {
      String person = "'Patient/g' || g %% %d".formatted(people);
      String rows =
          " from %%s, generate_series(%d, %d) g where clinic = 'default' and resource_type = '%s'"
                  .formatted(from, to, type)
              + " and resource_id = 'template'";
      String key = " select clinic, resource_type, 'g' || g, ";
      String time = "%s - g::bigint * 61000";
      for (String[] table :
          new String[][] {
            {
              "resource_current (clinic, resource_type, resource_id, version, subject, happened_ms,"
                  + " updated_ms, json)",
              "version, case when subject is null then null else "
                  + person
                  + " end, "
                  + time.formatted("happened_ms")
                  + ", updated_ms + g, replace(json, 'template', 'g' || g)"
            },
            {
              "search_token (clinic, resource_type, resource_id, parameter, code_system, code)",
              "parameter, code_system, case when parameter = 'identifier' then code || g else code"
                  + " end"
            },
            {
              "search_uri (clinic, resource_type, resource_id, parameter, target)",
              "parameter, case when target = 'Patient/template' then " + person + " else target end"
            },
            {
              "search_date (clinic, resource_type, resource_id, parameter, low_ms, high_ms)",
              "parameter, " + time.formatted("low_ms") + ", " + time.formatted("high_ms")
            },
            {
              "search_quantity (clinic, resource_type, resource_id, parameter, unit, amount,"
                  + " sent_unit, sent_amount)",
              "parameter, unit, amount + g % 400, sent_unit, sent_amount + g % 400"
            },
            {
              "identifier_key (clinic, resource_type, resource_id, identifier_system,"
                  + " identifier_value)",
              "identifier_system, identifier_value || g"
            }
          }) {
        String name = table[0].substring(0, table[0].indexOf(' '));
        sql.execute("insert into " + table[0] + key + table[1] + rows.formatted(name));
      }
    }

    void enrol() throws IOException {
      for (int i = 0; i < PLANS; i++) {
        BenchPerson person = new BenchPerson(client);
        person.enrol();
        plans.add(person);
      }
    }

    void once(int turn, boolean measured) throws IOException {
      String someone = "Patient/g" + ThreadLocalRandom.current().nextInt(people);
      String body = observation(someone);
      long began = System.nanoTime();
      client.post("Observation", body);
      long between = System.nanoTime();
      plans.get(turn % PLANS).trainOneDay();
      if (measured) {
        observations.add(between - began);
        reports.add(System.nanoTime() - between);
      }
    }
  }

  private GrowthBenchmark() {}

  /**
   * Fills and measures.
   *
   * @param args how many turns are measured, after half as many that are not, and for each service
   *     its base, the address of its database, its user there, and how many Observations it is to
   *     have
   */
  public static void main(String[] args) throws Exception {
    int turns = Integer.parseInt(args[0]);
    List<Service> services = new ArrayList<>();
    for (int i = 1; i < args.length; i += 4) {
      Service service = new Service(args[i], Integer.parseInt(args[i + 3]));
      long began = System.nanoTime();
      service.fill(args[i + 1], args[i + 2]);
      service.enrol();
      say("%,d filled in %d s", service.size, (System.nanoTime() - began) / 1_000_000_000);
      services.add(service);
    }
    for (int turn = 0; turn < turns + turns / 2; turn++) {
      for (Service service : services) {
        service.once(turn, turn >= turns / 2);
      }
    }
    for (Service service : services) {
      tell(service, "Observation that no plan needs", service.observations);
      tell(service, "session report with its decision", service.reports);
    }
  }

  private static void tell(Service service, String what, List<Long> took) {
    long[] sorted = took.stream().mapToLong(Long::longValue).sorted().toArray();
    say(
        "%,11d stored: %-34s median %6.2f ms, 99 %% within %7.2f ms",
        service.size,
        what,
        sorted[sorted.length / 2] / 1e6,
        sorted[(int) (sorted.length * 0.99)] / 1e6);
  }

  private static String observation(String subject) {
    return OBSERVATION.formatted(UUID.randomUUID(), subject, "In light clothes. ".repeat(25));
  }

  private static void say(String format, Object... values) {
    System.out.println(String.format(Locale.ROOT, format, values));
  }
}
