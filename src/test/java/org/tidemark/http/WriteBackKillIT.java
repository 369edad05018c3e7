package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.rest.api.RequestTypeEnum;
import java.nio.file.Path;
import java.sql.Connection;
import java.sql.Statement;
import java.util.List;
import java.util.Map;
import java.util.Properties;
import java.util.concurrent.CountDownLatch;
import java.util.concurrent.atomic.AtomicBoolean;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Provenance;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;
import org.tidemark.demo.PlainRecordSystem;
import org.tidemark.store.DurableH2Driver;

/**
 * The service is killed (SIGKILL) at the steps of writing a plan back: before anything is written,
 * when all is written and it has not heard of it, and when an update is. Afterwards the record
 * system has each record once, as it is here.
 */
class WriteBackKillIT {
  private static final int SECONDS_FOR_ALL = 60;
  private static final Identifier NUMBER =
      new Identifier().setSystem("https://numbers.example/person").setValue("4471");

  @TempDir Path folder;
  private PackagedService service;

  private PackagedService start(PlainRecordSystem there) throws Exception {
    return PackagedService.start(
            PlanPerson.PORT,
            Map.of(
                "TIDEMARK_DATA", folder.toString(),
                "TIDEMARK_PAPERS_EVERY", "off",
                "TIDEMARK_SUBSCRIPTIONS_ALLOWED_HOSTS", "localhost",
                "TIDEMARK_RECORD_SYSTEM_BASE_URL", there.base(),
                "TIDEMARK_RECORD_SYSTEM_WRITE_BACK", "true",
                "TIDEMARK_RECORD_SYSTEM_WRITE_BACK_EVERY", "0.2s",
                "TIDEMARK_RECORD_SYSTEM_WRITE_BACK_PAUSE", "0.1s"))
        .awaitReady();
  }

  @Test
  void whenEverItIsKilledEachRecordIsThereOnce() throws Exception {
    try (PlainRecordSystem there = new PlainRecordSystem(PackagedService.freePort())) {
      service = start(there);
      PlanPerson person = PlanPerson.enrolled();
      Patient their = new Patient().addIdentifier(NUMBER);
      their.setId("their-own");
      Patient patient =
          PlanPerson.client().read().resource(Patient.class).withId(person.subject).execute();
      PlanPerson.client().update().resource(patient.addIdentifier(NUMBER)).execute();
      killAt(there, RequestTypeEnum.GET, new CountDownLatch(0));
      there.put(their);
      restart(there, RequestTypeEnum.POST);
      restart(there, null);
      await(there, person);
      requireOnce(there, person);
      person.settled(1, 2);
      await(there, person);
      killAt(there, RequestTypeEnum.POST, new CountDownLatch(0));
      person.send(person.session(3));
      restart(there, null);
      await(there, person);
      requireOnce(there, person);
    } finally {
      service.stop();
    }
  }

  /** Kills the service, once it is ready, when the record system has done what it is asked next. */
  private void killAt(PlainRecordSystem there, RequestTypeEnum method, CountDownLatch ready) {
    AtomicBoolean killed = new AtomicBoolean();
    there.beforeAnswers(
        asked -> {
          if (asked == method && killed.compareAndSet(false, true)) {
            try {
              ready.await();
              service.kill();
            } catch (InterruptedException e) {
              Thread.currentThread().interrupt();
            }
          }
        });
  }

  /** Starts it again, as if the minutes had passed for which the killed one had the plan. */
  private void restart(PlainRecordSystem there, RequestTypeEnum nextKill) throws Exception {
    service.awaitEnd();
    Properties user = new Properties();
    user.setProperty("user", "tidemark");
    try (Connection connection =
            new DurableH2Driver()
                .connect("jdbc:h2:%s:%s/tidemark".formatted(DurableH2Driver.SCHEME, folder), user);
        Statement statement = connection.createStatement()) {
      statement.executeUpdate("update write_back set lease_ms = 1");
    }
    CountDownLatch ready = new CountDownLatch(1);
    killAt(there, nextKill, ready);
    service = start(there);
    ready.countDown();
  }

  private static void await(PlainRecordSystem there, PlanPerson person) throws Exception {
    for (int tenth = 0; ; tenth++) {
      Parameters status =
          PlanPerson.client()
              .operation()
              .onServer()
              .named("$write-back-status")
              .withNoParameters(Parameters.class)
              .execute();
      boolean all = !status.hasParameter("waiting") && !there(there, CarePlan.class).isEmpty();
      if (all) {
        assertTrue(!status.hasParameter("conflict"), () -> PlanPerson.json(status));
        return;
      }
      assertTrue(tenth < SECONDS_FOR_ALL * 10, () -> PlanPerson.json(status));
      Thread.sleep(100);
    }
  }

  private static <T extends Resource> List<T> there(PlainRecordSystem there, Class<T> type) {
    return there
        .all(type.getSimpleName())
        .map(type::cast)
        .filter(record -> record.getMeta().hasSource())
        .toList();
  }

  private static void requireOnce(PlainRecordSystem there, PlanPerson person) {
    assertEquals(1, there(there, CarePlan.class).size());
    CarePlan here = person.plan();
    assertTrue(
        there(there, CarePlan.class)
            .get(0)
            .getMeta()
            .getSource()
            .endsWith("/_history/" + here.getMeta().getVersionId()));
    assertEquals(here.getGoal().size(), there(there, Goal.class).size());
    for (List<? extends Resource> each :
        List.of(there(there, ServiceRequest.class), there(there, Provenance.class))) {
      assertEquals(
          each.size(),
          each.stream()
              .map(record -> record.getMeta().getSource().replaceFirst("/_history/.*", ""))
              .distinct()
              .count());
      assertTrue(!each.isEmpty());
    }
  }
}
