package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.List;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hibernate.StatelessSession;

/**
 * Keeps what clinicians did with cards. Nothing of it is ever changed. Every method joins the
 * caller's transaction.
 */
@ApplicationScoped
public class FeedbackStore {
  private final StatelessSession session;
  private final String clinic;

  FeedbackStore(StatelessSession session, @ConfigProperty(name = "tidemark.clinic") String clinic) {
    this.session = session;
    this.clinic = clinic;
  }

  /**
   * Adds what was done with a card.
   *
   * @param arrivedMs when it was told, ms since 1970 in UTC
   */
  public void add(StoredFeedback feedback, long arrivedMs) {
    session.insert(new FeedbackRow(clinic, ResourceStore.newId(), feedback, arrivedMs));
  }

  /** What was done with a card, in the order in which it was told. */
  public List<StoredFeedback> ofCard(String card) {
    return session
        .createNativeQuery(
            "select * from card_feedback where clinic = :clinic and card = :card"
                + " order by arrived_ms, id",
            FeedbackRow.class)
        .setParameter("clinic", clinic)
        .setParameter("card", card)
        .list()
        .stream()
        .map(FeedbackRow::stored)
        .toList();
  }
}
