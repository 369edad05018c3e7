package org.tidemark.audit;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.List;
import java.util.Optional;
import java.util.OptionalLong;
import java.util.function.Consumer;
import org.tidemark.store.AuditLink;
import org.tidemark.store.AuditQuery;
import org.tidemark.store.AuditStore;

/** Goes through the whole chain of the clinic that is acted for. */
@ApplicationScoped
public class AuditCheck {
  private static final int AT_ONCE = 2000;

  private final AuditStore store;

  AuditCheck(AuditStore store) {
    this.store = store;
  }

  /**
   * What came of a check.
   *
   * @param head where the chain ended when the check began
   * @param broken the number of the first link that is not as it was written, or is missing
   */
  public record Result(AuditStore.Head head, Optional<Long> broken) {}

  /**
   * Checks each link against the one before it, and that the chain is as long as it was. Entries
   * that are added meanwhile are left out.
   */
  public Result run() {
    Result result;
    do {
      result = once();
    } while (result.broken().isPresent() && head().removedSeq() > result.head().removedSeq());
    return result;
  }

  /** Retention may remove links during a check, which then says nothing. */
  private Result once() {
    AuditStore.Head head = head();
    long seq = head.removedSeq();
    String hash = head.removedHash();
    while (seq < head.seq()) {
      List<AuditLink> links = page(seq, head.seq());
      Optional<Long> broken = store.broken(hash, seq + 1, links);
      if (broken.isPresent() || links.isEmpty()) {
        return new Result(head, Optional.of(broken.orElse(seq + 1)));
      }
      seq += links.size();
      hash = links.get(links.size() - 1).hash();
    }
    boolean ends = hash.equals(head.hash());
    return new Result(head, ends ? beyond() : Optional.of(head.seq()));
  }

  /**
   * A link after the end, which was put in. The end is read after the link: what was added
   * meanwhile is not beyond it.
   */
  private Optional<Long> beyond() {
    AuditQuery newest = new AuditQuery(List.of(), false, OptionalLong.empty(), 1);
    Optional<Long> last =
        QuarkusTransaction.requiringNew().call(() -> store.search(newest)).stream()
            .findFirst()
            .map(AuditLink::seq);
    long end = head().seq();
    return last.filter(seq -> seq > end).map(seq -> end + 1);
  }

  private AuditStore.Head head() {
    return QuarkusTransaction.requiringNew().call(store::head);
  }

  /** Gives each link to a consumer, from the first to the last that there is at the beginning. */
  public void each(Consumer<AuditLink> consumer) {
    AuditStore.Head head = head();
    long seq = head.removedSeq();
    List<AuditLink> links;
    do {
      links = page(seq, head.seq());
      links.forEach(consumer);
      seq = links.isEmpty() ? seq : links.get(links.size() - 1).seq();
    } while (!links.isEmpty());
  }

  private List<AuditLink> page(long after, long last) {
    return QuarkusTransaction.requiringNew().call(() -> store.from(after, AT_ONCE)).stream()
        .takeWhile(link -> link.seq() <= last)
        .toList();
  }
}
