package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.List;
import org.hibernate.StatelessSession;
import org.tidemark.clinic.ActingClinic;

/**
 * Keeps what clinicians did with cards. Nothing of it is ever changed. Every method joins the
 * caller's transaction.
 */
@ApplicationScoped
public class FeedbackStore {
  private final StatelessSession session;

  FeedbackStore(StatelessSession session) {
    this.session = session;
  }

  /**
   * Adds what was done with a card.
   *
   * @param arrivedMs when it was told, ms since 1970 in UTC
   */
  public void add(StoredFeedback feedback, long arrivedMs) {
    session.insert(
        new FeedbackRow(ActingClinic.current(), ResourceStore.newId(), feedback, arrivedMs));
  }

  /** What was done with a card, in the order in which it was told. */
  public List<StoredFeedback> ofCard(String card) {
    return session
        .createNativeQuery(
            "select * from card_feedback where clinic = :clinic and card = :card"
                + " order by arrived_ms, id",
            FeedbackRow.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("card", card)
        .list()
        .stream()
        .map(FeedbackRow::stored)
        .toList();
  }
}
