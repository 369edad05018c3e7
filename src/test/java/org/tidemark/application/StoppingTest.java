package org.tidemark.application;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.runtime.ShutdownEvent;
import io.quarkus.scheduler.Scheduler;
import io.quarkus.test.junit.QuarkusTest;
import jakarta.inject.Inject;
import java.sql.SQLException;
import java.util.List;
import java.util.Optional;
import java.util.concurrent.CompletableFuture;
import java.util.concurrent.CopyOnWriteArrayList;
import java.util.concurrent.CountDownLatch;
import java.util.concurrent.atomic.AtomicBoolean;
import java.util.logging.Handler;
import java.util.logging.LogRecord;
import java.util.logging.Logger;
import org.jboss.logmanager.formatters.PatternFormatter;
import org.junit.jupiter.api.Test;

/** What is logged of work that the clock has asked for and that failed. */
@QuarkusTest
class StoppingTest {
  private static final String NAME = "Zzyzx";

  @Inject Scheduler scheduler;

  private static final class Lines extends Handler {
    private final List<String> lines = new CopyOnWriteArrayList<>();

    Lines() {
      setFormatter(new PatternFormatter("%p %c %s%e"));
    }

    @Override
    public void publish(LogRecord line) {
      if (line.getLoggerName().equals(Faults.class.getName())
          || line.getLoggerName().startsWith("io.quarkus.scheduler")) {
        lines.add(getFormatter().format(line));
      }
    }

    @Override
    public void flush() {
      // Nothing waits.
    }

    @Override
    public void close() {
      // Nothing is open.
    }
  }

  /** What is logged once work has failed so. */
  private String logged(Exception failed) throws InterruptedException {
    Lines lines = new Lines();
    Logger.getLogger("").addHandler(lines);
    try {
      scheduler
          .newJob("fails")
          .setInterval("1s")
          .setTask(
              execution -> {
                throw new IllegalStateException(NAME, failed);
              })
          .schedule();
      for (int tenth = 0; lines.lines.isEmpty(); tenth++) {
        assertTrue(tenth < 100, "nothing is logged");
        Thread.sleep(100);
      }
    } finally {
      scheduler.unscheduleJob("fails");
      Logger.getLogger("").removeHandler(lines);
    }
    return lines.lines.get(0);
  }

  @Test
  void aFaultIsLoggedWithWhereItAroseAndNoWordOfARecord() throws Exception {
    String line = logged(new IllegalArgumentException(NAME));
    assertTrue(line.startsWith("ERROR " + Faults.class.getName() + " fault "), line);
    assertTrue(line.contains("IllegalArgumentException"), line);
    assertTrue(line.contains(StoppingTest.class.getName()), line);
    assertFalse(line.contains(NAME), line);
  }

  /** 08006 is the state of a connection that fails, in ISO/IEC 9075 and PostgreSQL's appendix A. */
  @Test
  void aDatabaseThatDoesNotServeIsNoFaultOfTheService() throws Exception {
    String line = logged(new SQLException(NAME, "08006"));
    assertTrue(line.startsWith("WARN " + Faults.class.getName() + " the database does not"), line);
    assertFalse(line.contains(NAME), line);
  }

  @Test
  void theStopWaitsForWhatIsTakenUpAndNothingMoreIs() throws Exception {
    Stopping stopping = new Stopping();
    CountDownLatch taken = new CountDownLatch(1);
    CountDownLatch asked = new CountDownLatch(1);
    AtomicBoolean done = new AtomicBoolean();
    CompletableFuture<Optional<String>> claim =
        CompletableFuture.supplyAsync(
            () ->
                stopping.claim(
                    () -> {
                      taken.countDown();
                      await(asked);
                      done.set(true);
                      return Optional.of("work");
                    }));
    taken.await();
    CompletableFuture<Boolean> waited =
        CompletableFuture.supplyAsync(
            () -> {
              begin(stopping);
              return done.get();
            });
    while (!stopping.begun()) {
      Thread.sleep(1);
    }
    assertFalse(waited.isDone());
    asked.countDown();
    assertEquals(Optional.of("work"), claim.get());
    assertTrue(waited.get());
    assertEquals(Optional.empty(), stopping.claim(() -> Optional.of("more")));
  }

  private static void await(CountDownLatch latch) {
    try {
      latch.await();
    } catch (InterruptedException e) {
      throw new IllegalStateException(e);
    }
  }

  private static void begin(Stopping stopping) {
    try {
      stopping.begin(new ShutdownEvent());
    } catch (InterruptedException e) {
      throw new IllegalStateException(e);
    }
  }
}
