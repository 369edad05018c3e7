package org.tidemark.demo;

import ca.uhn.fhir.rest.server.exceptions.BaseServerResponseException;
import java.time.Instant;
import java.util.ArrayList;
import java.util.List;
import java.util.concurrent.ExecutionException;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import java.util.function.Consumer;

/**
 * The sending of all diaries, each day by day. Several people send at the same time, as people do.
 */
public final class Sending {
  private static final int AT_ONCE = 3;

  private Sending() {}

  /**
   * Enrols everyone and sends every diary.
   *
   * @param sent is told of each page that was taken, from several threads
   * @throws IllegalStateException when the service refuses a page
   */
  public static void everyone(DemoClient client, Consumer<Instant> sent) {
    ExecutorService pool = Executors.newFixedThreadPool(AT_ONCE);
    try {
      List<Future<?>> all = new ArrayList<>();
      for (String person : Diaries.PEOPLE) {
        all.add(pool.submit(() -> one(client, person, sent)));
      }
      for (Future<?> each : all) {
        each.get();
      }
    } catch (ExecutionException e) {
      throw new IllegalStateException("a diary was not taken", e.getCause());
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
      throw new IllegalStateException("the sending was interrupted", e);
    } finally {
      pool.shutdownNow();
    }
  }

  private static void one(DemoClient client, String person, Consumer<Instant> sent) {
    client.transact(Diaries.enrolment(person));
    for (Diaries.Page page : Diaries.diary(person)) {
      try {
        client.send(page);
      } catch (BaseServerResponseException refused) {
        throw new IllegalStateException(
            person + ", " + page.at() + ": " + refused.getMessage(), refused);
      }
      sent.accept(page.at());
    }
  }
}
