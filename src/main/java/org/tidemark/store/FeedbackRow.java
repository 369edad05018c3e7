package org.tidemark.store;

import jakarta.persistence.Column;
import jakarta.persistence.Entity;
import jakarta.persistence.Id;
import jakarta.persistence.IdClass;
import jakarta.persistence.Table;
import java.io.Serializable;
import java.util.List;
import java.util.Optional;

/**
 * What a clinician did with a card. It is not marked as immutable: a stateless session cannot take
 * such rows from the cache of references.
 */
@Entity
@Table(name = "card_feedback")
@IdClass(FeedbackRow.Key.class)
class FeedbackRow {
  @Id
  @Column(name = "clinic")
  String clinic;

  @Id
  @Column(name = "id")
  String id;

  @Column(name = "service")
  String service;

  @Column(name = "card")
  String card;

  @Column(name = "outcome")
  String outcome;

  @Column(name = "suggestions")
  String suggestions;

  @Column(name = "reason_system")
  String reasonSystem;

  @Column(name = "reason_code")
  String reasonCode;

  @Column(name = "reason_display")
  String reasonDisplay;

  @Column(name = "user_comment")
  String comment;

  @Column(name = "happened_ms")
  long happenedMs;

  @Column(name = "arrived_ms")
  long arrivedMs;

  /** For Hibernate. */
  FeedbackRow() {}

  FeedbackRow(String clinic, String id, StoredFeedback feedback, long arrivedMs) {
    this.clinic = clinic;
    this.id = id;
    this.service = feedback.service();
    this.card = feedback.card();
    this.outcome = feedback.outcome();
    this.suggestions = String.join(" ", feedback.suggestions());
    this.reasonSystem = feedback.reasonSystem().orElse(null);
    this.reasonCode = feedback.reasonCode().orElse(null);
    this.reasonDisplay = feedback.reasonDisplay().orElse(null);
    this.comment = feedback.comment().orElse(null);
    this.happenedMs = feedback.happenedMs();
    this.arrivedMs = arrivedMs;
  }

  StoredFeedback stored() {
    return new StoredFeedback(
        service,
        card,
        outcome,
        suggestions.isEmpty() ? List.of() : List.of(suggestions.split(" ")),
        Optional.ofNullable(reasonSystem),
        Optional.ofNullable(reasonCode),
        Optional.ofNullable(reasonDisplay),
        Optional.ofNullable(comment),
        happenedMs);
  }

  /** The row's key. */
  record Key(String clinic, String id) implements Serializable {}
}
