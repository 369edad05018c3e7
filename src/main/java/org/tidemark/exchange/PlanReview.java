package org.tidemark.exchange;

import com.fasterxml.jackson.databind.node.ObjectNode;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import org.hl7.fhir.r4.model.Task;
import org.hl7.fhir.r4.model.Task.TaskStatus;
import org.tidemark.application.PlanAdvice;
import org.tidemark.application.PlanAdvice.Kind;
import org.tidemark.application.PlanAdvice.Notice;
import org.tidemark.fhir.Texts;

/** {@code patient-view}: a card for whatever a plan of the person needs from a clinician. */
@ApplicationScoped
class PlanReview implements HookService {
  private final PlanAdvice advice;
  private final CardDesk desk;

  PlanReview(PlanAdvice advice, CardDesk desk) {
    this.advice = advice;
    this.desk = desk;
  }

  @Override
  public String id() {
    return "plan-review";
  }

  @Override
  public String hook() {
    return "patient-view";
  }

  @Override
  public List<Card> cards(HookCall call, Locale language) {
    return advice.of(desk.subjects(call), language).stream()
        .map(notice -> card(notice, CardDesk.texts(language)))
        .toList();
  }

  private Card card(Notice notice, Texts texts) {
    String key = key(notice.kind());
    Card card =
        desk.card(
            texts,
            indicator(notice.kind()),
            texts.of(key + ".summary", notice.title()),
            detail(notice, texts),
            Optional.of(notice.plan()));
    if (notice.kind() == Kind.WAITING) {
      notice.task().ifPresent(task -> answer(card, task, texts));
    }
    return card;
  }

  /** What is said of a notice, in Markdown. */
  static String detail(Notice notice, Texts texts) {
    List<String> parts = new ArrayList<>();
    parts.add("**" + CardText.plain(notice.title()) + "**");
    if (!notice.what().isEmpty()) {
      parts.add(CardText.list(notice.what()));
    }
    notice.told().ifPresent(told -> parts.add(texts.of("told", CardText.plain(told))));
    parts.add(texts.of("why", CardText.plain(notice.why())));
    parts.add(texts.of(key(notice.kind()) + ".next"));
    return String.join("\n\n", parts);
  }

  static String key(Kind kind) {
    return "notice." + kind.name().toLowerCase(Locale.ROOT).replace('_', '-');
  }

  static String indicator(Kind kind) {
    return switch (kind) {
      case WARNED -> "critical";
      case WITHHELD, ON_HOLD, REVIEW -> "warning";
      case WAITING -> "info";
    };
  }

  private void answer(Card card, Task task, Texts texts) {
    card.suggest(texts.of("accept"), update(task, TaskStatus.ACCEPTED, texts.of("accept.action")));
    card.suggest(texts.of("reject"), update(task, TaskStatus.REJECTED, texts.of("reject.action")));
  }

  private ObjectNode update(Task task, TaskStatus status, String description) {
    return Card.update(description, desk.json(task.copy().setStatus(status)));
  }
}
