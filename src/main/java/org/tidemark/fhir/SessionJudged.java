package org.tidemark.fhir;

import java.time.OffsetDateTime;
import java.util.Optional;
import org.tidemark.response.Response;

/**
 * What a decision says about a session.
 *
 * @param report the record that the session was read from, such as {@code Observation/12}
 * @param went how it went; empty when it was withdrawn
 */
public record SessionJudged(String report, Optional<Went> went) {
  /**
   * How a session went.
   *
   * @param start when it began
   * @param response how it went, as far as is known
   * @param leading whether it counts for an exercise that leads a stage of the programme
   */
  public record Went(OffsetDateTime start, Response response, boolean leading) {}

  /** A session that was none. */
  public static SessionJudged withdrawn(String report) {
    return new SessionJudged(report, Optional.empty());
  }
}
