package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.TreeSet;
import java.util.function.BiFunction;
import java.util.function.Consumer;
import java.util.function.Supplier;
import org.tidemark.audit.AuditCheck;
import org.tidemark.store.CheckStore;
import org.tidemark.store.PlanStore;
import org.tidemark.store.ResourceStore;
import org.tidemark.store.StoredPlan;

/**
 * Holds everything that is kept against everything else. It may run while others write: each record
 * and plan is looked at by itself, and what seems wrong is looked at again while nobody writes
 * about the person, as its parts may have been read before and after a write.
 */
@ApplicationScoped
public class ConsistencyCheck {
  private static final int AT_ONCE = 500;
  private static final int LOOKS = 4;
  private static final long PAUSE_MS = 100;
  private static final CheckStore.Key BEGINNING = new CheckStore.Key("", "");

  private final CheckStore store;
  private final StoredRecordCheck recordCheck;
  private final StoredPlanCheck planCheck;
  private final AuditCheck audit;
  private final ResourceStore resources;
  private final PlanStore plan;

  ConsistencyCheck(
      CheckStore store,
      StoredRecordCheck recordCheck,
      StoredPlanCheck planCheck,
      AuditCheck audit,
      ResourceStore resources,
      PlanStore plan) {
    this.resources = resources;
    this.plan = plan;
    this.store = store;
    this.recordCheck = recordCheck;
    this.planCheck = planCheck;
    this.audit = audit;
  }

  /**
   * What came of a check.
   *
   * @param records how many records were looked at, with all their versions
   * @param plans how many plans
   * @param findings what is wrong
   */
  public record Result(long records, long plans, List<Finding> findings) {}

  /**
   * Looks at everything of the acting clinic. Takes about a millisecond for each version of a
   * record.
   */
  public Result whole() {
    Looks looks = new Looks();
    each(store::records, BEGINNING, looks::at);
    each(store::gone, BEGINNING, looks::at);
    each(store::plans, "", looks::at);
    inTransaction(store::orphans)
        .forEach(
            (table, rows) ->
                looks.findings.add(new Finding(Finding.Kind.ORPHANS, table + ": " + rows)));
    audit
        .run()
        .broken()
        .ifPresent(seq -> looks.findings.add(new Finding(Finding.Kind.AUDIT, "AuditEvent/" + seq)));
    return looks.result();
  }

  /** Gives each key to a consumer, page by page. */
  private static <K> void each(BiFunction<K, Integer, List<K>> pages, K first, Consumer<K> look) {
    K after = first;
    List<K> page;
    do {
      K last = after;
      page = inTransaction(() -> pages.apply(last, AT_ONCE));
      page.forEach(look);
      after = page.isEmpty() ? after : page.get(page.size() - 1);
    } while (page.size() == AT_ONCE);
  }

  private static <T> T inTransaction(Supplier<T> work) {
    return QuarkusTransaction.requiringNew().call(work::get);
  }

  /** The looks of one check. */
  private final class Looks {
    private final List<Finding> findings = new ArrayList<>();
    private long records;
    private long plans;

    void at(CheckStore.Key key) {
      records++;
      findings.addAll(
          lasting(
              () -> recordCheck.of(key),
              () -> store.indexed(key).map(row -> row.stored().subject())));
    }

    void at(String planId) {
      plans++;
      findings.addAll(
          lasting(() -> planCheck.of(planId), () -> plan.find(planId).map(StoredPlan::subject)));
    }

    private List<Finding> lasting(
        Supplier<List<Finding>> look, Supplier<Optional<String>> subject) {
      List<Finding> found = inTransaction(look);
      for (int again = 1; again < LOOKS && !found.isEmpty(); again++) {
        pause();
        found = inTransaction(() -> inTurn(look, subject));
      }
      return found;
    }

    /** While nobody writes about the person. */
    private List<Finding> inTurn(Supplier<List<Finding>> look, Supplier<Optional<String>> subject) {
      subject.get().ifPresent(person -> resources.takeTurns(new TreeSet<>(Set.of(person))));
      return look.get();
    }

    private void pause() {
      try {
        Thread.sleep(PAUSE_MS);
      } catch (InterruptedException e) {
        Thread.currentThread().interrupt();
        throw new IllegalStateException("the check was broken off", e);
      }
    }

    Result result() {
      return new Result(records, plans, List.copyOf(findings));
    }
  }
}
