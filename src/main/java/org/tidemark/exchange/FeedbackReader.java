package org.tidemark.exchange;

import java.time.Instant;
import java.time.OffsetDateTime;
import java.time.ZoneOffset;
import java.time.format.DateTimeParseException;
import java.util.List;
import java.util.Optional;
import org.tidemark.application.CardFeedback.Answer;
import org.tidemark.application.CardFeedback.Reason;

/** Reads what clinicians did with cards (CDS Hooks 2.0, Feedback). */
final class FeedbackReader {
  /** So many answers are taken in one call. */
  private static final int MOST_ANSWERS = 1_000;

  private static final int MOST_SUGGESTIONS = 100;
  private static final int LONGEST_CODE = 400;
  private static final int LONGEST_COMMENT = 4_000;

  private FeedbackReader() {}

  /**
   * Reads a body.
   *
   * @param service the id of the service that it is about
   * @throws HookProblem naming the member that is not as the specification has it
   */
  static List<Answer> read(Member body, String service) {
    Member feedback = body.at("feedback");
    return few(feedback.elements(), MOST_ANSWERS, feedback).stream()
        .map(answer -> answer(answer.object(), service))
        .toList();
  }

  private static Answer answer(Member answer, String service) {
    Member outcome = answer.at("outcome");
    boolean accepted =
        switch (outcome.text()) {
          case "accepted" -> true;
          case "overridden" -> false;
          default ->
              throw HookProblem.malformed(
                  outcome.path(), "'" + outcome.path() + "' is accepted or overridden.");
        };
    Member taken = answer.at("acceptedSuggestions");
    List<Member> suggestions = accepted || taken.isGiven() ? taken.elements() : List.of();
    Optional<Member> override = answer.at("overrideReason").given().map(Member::object);
    return new Answer(
        service,
        answer.at("card").uuid(),
        outcome.text(),
        few(suggestions, MOST_SUGGESTIONS, taken).stream()
            .map(suggestion -> suggestion.object().at("id").uuid())
            .toList(),
        override.flatMap(given -> given.at("reason").given()).map(FeedbackReader::reason),
        override
            .flatMap(given -> given.at("userComment").given())
            .map(comment -> comment.text(LONGEST_COMMENT)),
        time(answer.at("outcomeTimestamp")));
  }

  private static List<Member> few(List<Member> elements, int most, Member array) {
    if (elements.size() > most) {
      throw HookProblem.malformed(
          array.path(), "'" + array.path() + "' has more than " + most + " elements.");
    }
    return elements;
  }

  private static Reason reason(Member reason) {
    return new Reason(
        reason.object().at("system").text(LONGEST_CODE),
        reason.at("code").text(LONGEST_CODE),
        reason.at("display").given().map(display -> display.text(LONGEST_CODE)));
  }

  private static Instant time(Member at) {
    try {
      OffsetDateTime time = OffsetDateTime.parse(at.text());
      if (time.getOffset().equals(ZoneOffset.UTC)) {
        return time.toInstant();
      }
    } catch (DateTimeParseException notOne) {
      throw HookProblem.malformed(at.path(), "'" + at.path() + "' is not an ISO 8601 time.");
    }
    throw HookProblem.malformed(at.path(), "'" + at.path() + "' is not in UTC.");
  }
}
