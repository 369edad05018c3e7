package org.tidemark.store;

import java.util.List;
import java.util.Optional;

/**
 * What a clinician did with a card.
 *
 * @param service the id of the service that gave the card, at most 64 characters
 * @param card the card's UUID
 * @param outcome what was done, at most 16 characters
 * @param suggestions the UUIDs of the suggestions that were taken, together at most 4,000
 *     characters
 * @param reasonSystem the system of the reason's code, at most 400 characters
 * @param reasonCode the reason's code, at most 400 characters
 * @param reasonDisplay the reason in words, at most 400 characters
 * @param comment what the clinician wrote, at most 4,000 characters
 * @param happenedMs when it was done, ms since 1970 in UTC
 */
public record StoredFeedback(
    String service,
    String card,
    String outcome,
    List<String> suggestions,
    Optional<String> reasonSystem,
    Optional<String> reasonCode,
    Optional<String> reasonDisplay,
    Optional<String> comment,
    long happenedMs) {
  public StoredFeedback {
    suggestions = List.copyOf(suggestions);
  }
}
