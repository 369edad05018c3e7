package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.util.ArrayList;
import java.util.HashMap;
import java.util.HashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.DocumentReference;
import org.junit.jupiter.api.Test;
import org.tidemark.store.PostgresServer;

/** Two processes on one PostgreSQL share what the clock asks for: each piece is done by one. */
class SharedWorkIT {
  private static final int PORT = PlanPerson.PORT;
  private static final int PLANS = 12;
  private static final int SECONDS_FOR_ALL = 120;
  private static final String PAPERS = "makes the papers of CarePlan/";
  private static final String SWEEP = "looks at CarePlan/";

  private final Set<String> plans = new HashSet<>();

  @Test
  void eachPlanIsSweptAndEachPaperIsMadeByOneOfTwo() throws Exception {
    Map<String, String> settings = new HashMap<>();
    settings.put("TIDEMARK_DATABASE_URL", PostgresServer.newDatabase());
    settings.put("TIDEMARK_DATABASE_USER", PostgresServer.USER);
    settings.put("TIDEMARK_SWEEP_CRON", "off");
    settings.put("TIDEMARK_PAPERS_EVERY", "off");
    List<PlanPerson> people = new ArrayList<>();
    PackagedService alone = PackagedService.start(PORT, settings).awaitReady();
    try {
      for (int i = 0; i < PLANS; i++) {
        people.add(PlanPerson.enrolled());
      }
      people.forEach(person -> plans.add(person.plan().getIdElement().getIdPart()));
    } finally {
      alone.stop();
    }

    settings.put("TIDEMARK_SWEEP_CRON", "0/4 * * * * ?");
    settings.put("TIDEMARK_PAPERS_EVERY", "1s");
    settings.put("QUARKUS_LOG_CATEGORY__ORG_TIDEMARK_APPLICATION__LEVEL", "DEBUG");
    List<PackagedService> two =
        List.of(
            PackagedService.start(PORT, settings),
            PackagedService.start(PackagedService.freePort(), settings));
    try {
      for (PackagedService service : two) {
        service.awaitReady();
      }
      for (int second = 0; done(two, PAPERS).size() < PLANS; second++) {
        assertTrue(second < SECONDS_FOR_ALL, "made: " + done(two, PAPERS));
        Thread.sleep(1_000);
      }
      Thread.sleep(10_000);
      for (String work : List.of(SWEEP, PAPERS)) {
        List<String> done = done(two, work);
        assertEquals(PLANS, done.stream().distinct().count(), work + done);
        assertEquals(PLANS, done.size(), work + done);
      }
      assertTrue(
          two.stream().noneMatch(service -> done(List.of(service), PAPERS).isEmpty()),
          "both have made some");
      for (PlanPerson person : people) {
        assertEquals(2, person.all(DocumentReference.class).size(), "handout and report");
      }
    } finally {
      for (PackagedService service : two) {
        service.stop();
      }
    }
  }

  /** The plans of this test for which it is logged, as often as it is. */
  private List<String> done(List<PackagedService> services, String work) {
    return services.stream()
        .flatMap(SharedWorkIT::lines)
        .filter(line -> line.contains(work))
        .map(line -> line.substring(line.indexOf(work) + work.length()))
        .filter(plans::contains)
        .toList();
  }

  private static Stream<String> lines(PackagedService service) {
    try {
      return service.log().lines();
    } catch (IOException e) {
      throw new java.io.UncheckedIOException(e);
    }
  }
}
