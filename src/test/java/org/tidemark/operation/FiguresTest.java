package org.tidemark.operation;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.test.junit.QuarkusTest;
import jakarta.inject.Inject;
import java.time.Duration;
import java.util.List;
import java.util.Set;
import java.util.UUID;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.tidemark.clinic.ActsForHome;
import org.tidemark.store.ExportStore;
import org.tidemark.store.FigureStore;
import org.tidemark.store.PaperStore;
import org.tidemark.store.SubscriptionStore;

/** What waits for the workers is counted, with the age of the oldest. */
@ExtendWith(ActsForHome.class)
@QuarkusTest
class FiguresTest {
  private static final long LONG_AGO_MS = System.currentTimeMillis() - 3_600_000;

  @Inject Figures figures;
  @Inject FigureStore store;
  @Inject PaperStore papers;
  @Inject ExportStore exports;
  @Inject SubscriptionStore subscriptions;

  private double value(String name) {
    figures.count();
    return given()
        .get("/q/metrics")
        .asString()
        .lines()
        .filter(line -> line.startsWith(name + " "))
        .mapToDouble(line -> Double.parseDouble(line.substring(name.length() + 1)))
        .findFirst()
        .orElseThrow();
  }

  private static void within(Runnable work) {
    QuarkusTransaction.requiringNew().run(work);
  }

  private void rises(String kind, Runnable work) {
    double before = value("tidemark_" + kind + "_waiting");
    within(work);
    assertEquals(before + 1, value("tidemark_" + kind + "_waiting"), kind);
    double age = value("tidemark_" + kind + "_oldest_age_seconds");
    assertTrue(age >= Duration.ofHours(1).toSeconds(), kind + " " + age);
  }

  @Test
  void papersAndExportsThatWait() {
    String id = UUID.randomUUID().toString();
    rises("papers", () -> papers.mark(id, LONG_AGO_MS));
    within(() -> papers.claim(Long.MAX_VALUE - 1, 0).ifPresent(papers::take));
    ExportStore.Job job =
        new ExportStore.Job(
            id,
            "x",
            false,
            "",
            List.of("Patient"),
            List.of(),
            0,
            LONG_AGO_MS,
            Long.MAX_VALUE,
            0,
            "",
            0);
    rises("exports", () -> exports.add(job, Set.of()));
    within(() -> exports.drop(id));
  }

  @Test
  void notificationsThatWaitAndSubscriptionsThatWereGivenUpOn() {
    String id = UUID.randomUUID().toString();
    SubscriptionStore.Subscribed subscribed =
        new SubscriptionStore.Subscribed(
            id, "nothing", "active", "https://portal.example/" + id, 0, Long.MAX_VALUE);
    within(() -> subscriptions.keep(subscribed, LONG_AGO_MS));
    rises(
        "notifications",
        () ->
            subscriptions.add(
                id, new SubscriptionStore.Event(id, 0, LONG_AGO_MS, "Task", "t", 1, false)));
    rises("subscriptions_error", () -> subscriptions.failed(id, "error", 9, LONG_AGO_MS));
    double waiting = value("tidemark_notifications_waiting");
    within(() -> subscriptions.drop(id));
    assertEquals(waiting, value("tidemark_notifications_waiting"), "it waits for its client alone");
  }
}
