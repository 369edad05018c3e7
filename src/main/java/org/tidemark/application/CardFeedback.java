package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.time.Clock;
import java.time.Instant;
import java.util.List;
import java.util.Optional;
import org.tidemark.audit.AuditTrail;
import org.tidemark.store.FeedbackStore;
import org.tidemark.store.StoredFeedback;

/** What clinicians did with the cards that were shown to them: kept as it was told, for good. */
@ApplicationScoped
public class CardFeedback {
  private final FeedbackStore store;
  private final Clock clock;
  private final AuditTrail trail;

  CardFeedback(FeedbackStore store, Clock clock, AuditTrail trail) {
    this.trail = trail;
    this.store = store;
    this.clock = clock;
  }

  /**
   * What was done with a card.
   *
   * @param service the id of the service that gave it, at most 64 characters
   * @param card its UUID
   * @param outcome {@code accepted} or {@code overridden}
   * @param suggestions the UUIDs of the suggestions that were taken, at most 100
   * @param reason why it was overridden, as a code
   * @param comment what the clinician wrote about it, at most 4,000 characters
   * @param at when
   */
  public record Answer(
      String service,
      String card,
      String outcome,
      List<String> suggestions,
      Optional<Reason> reason,
      Optional<String> comment,
      Instant at) {}

  /** A reason as a code; each part at most 400 characters. */
  public record Reason(String system, String code, Optional<String> display) {}

  /** Keeps all answers or none. */
  public void keep(List<Answer> answers) {
    long now = clock.millis();
    int mark = trail.mark();
    QuarkusTransaction.requiringNew()
        .run(
            () -> {
              answers.forEach(answer -> store.add(stored(answer), now));
              trail.keep(mark);
            });
    trail.kept(mark);
  }

  /** What was done with a card, in the order in which it was told. */
  public List<Answer> ofCard(String card) {
    return QuarkusTransaction.joiningExisting()
        .call(() -> store.ofCard(card).stream().map(CardFeedback::answer).toList());
  }

  private static StoredFeedback stored(Answer answer) {
    return new StoredFeedback(
        answer.service(),
        answer.card(),
        answer.outcome(),
        answer.suggestions(),
        answer.reason().map(Reason::system),
        answer.reason().map(Reason::code),
        answer.reason().flatMap(Reason::display),
        answer.comment(),
        answer.at().toEpochMilli());
  }

  private static Answer answer(StoredFeedback stored) {
    return new Answer(
        stored.service(),
        stored.card(),
        stored.outcome(),
        stored.suggestions(),
        stored
            .reasonCode()
            .map(
                code -> new Reason(stored.reasonSystem().orElse(""), code, stored.reasonDisplay())),
        stored.comment(),
        Instant.ofEpochMilli(stored.happenedMs()));
  }
}
