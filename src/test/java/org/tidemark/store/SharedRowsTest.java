package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.test.junit.QuarkusTest;
import jakarta.inject.Inject;
import java.util.List;
import java.util.Optional;
import java.util.UUID;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.tidemark.clinic.ActsForHome;

/**
 * What one worker has taken, another passes over, before and after the first has committed. The
 * embedded database looks at as many rows as are asked for and leaves out the locked ones, so that
 * the other may have to come again; it serves one process, whose workers take turns anyway.
 */
@ExtendWith(ActsForHome.class)
@QuarkusTest
class SharedRowsTest {
  private static final boolean SEES_PAST_LOCKED =
      "postgresql".equals(System.getProperty("database"));

  private static final long NOW = 1_000;
  private static final long LATER = 2_000;

  @Inject SweepStore sweep;
  @Inject PaperStore papers;
  @Inject PlanStore plans;

  private static <T> T apart(java.util.concurrent.Callable<T> work) {
    return QuarkusTransaction.requiringNew().call(work);
  }

  private static void apart(Runnable work) {
    QuarkusTransaction.requiringNew().run(work);
  }

  @Test
  void plansThatOneTakesAreNotTakenByAnother() {
    for (int i = 0; i < 4; i++) {
      String id = UUID.randomUUID().toString();
      apart(
          () -> plans.insert(new StoredPlan(id, "Patient/x", "LEFT", "a|1", "active", "{}", "{}")));
    }
    apart(sweep::listAll);
    apart(
        () -> {
          List<String> mine = sweep.take(NOW, LATER, 2);
          assertEquals(2, mine.size());
          List<String> others = apart(() -> sweep.take(NOW, LATER, 2));
          assertEquals(SEES_PAST_LOCKED ? 2 : 0, others.size());
          assertTrue(mine.stream().noneMatch(others::contains), mine + " " + others);
        });
    List<String> taken = apart(() -> sweep.take(NOW, LATER, 1_000));
    assertTrue(apart(() -> sweep.take(NOW, LATER, 1)).isEmpty(), "all are taken: " + taken);
    assertEquals(1, apart(() -> sweep.take(LATER, LATER + 1, 1)).size(), "one who took is gone");
    apart(
        () -> {
          List<String> all = sweep.take(LATER + 1, LATER + 2, 1_000);
          sweep.done(all);
        });
    assertTrue(apart(() -> sweep.take(LATER + 5, LATER + 6, 1)).isEmpty());
  }

  @Test
  void aPaperThatOneMakesIsNotMadeByAnother() {
    for (int i = 0; i < 2; i++) {
      String id = "papers-" + UUID.randomUUID();
      apart(() -> papers.mark(id, 1));
    }
    apart(
        () -> {
          PaperStore.Due mine = papers.claim(NOW, LATER).orElseThrow();
          Optional<PaperStore.Due> other = apart(() -> papers.claim(NOW, LATER));
          assertEquals(SEES_PAST_LOCKED, other.isPresent());
          assertTrue(other.stream().noneMatch(mine::equals));
        });
    PaperStore.Due again = apart(() -> papers.claim(LATER, LATER + 1)).orElseThrow();
    apart(() -> papers.mark(again.planId(), NOW));
    assertFalse(apart(() -> papers.take(again)), "a newer mark stays");
  }
}
