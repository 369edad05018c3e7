package org.tidemark.programme;

import java.math.BigDecimal;
import java.util.List;

/**
 * A part of the programme that a person passes through.
 *
 * @param code the code of the stage
 * @param title what a person calls it
 * @param toleratedRate the share of sessions that may go otherwise than settled, above 0 and below
 *     1; progress needs the chance that the true share is below it to be high enough
 * @param conditions what must hold to enter the stage by progress
 * @param exercises its exercises, in order of choice
 */
public record Stage(
    String code,
    String title,
    BigDecimal toleratedRate,
    List<Condition> conditions,
    List<Exercise> exercises) {
  public Stage {
    if (toleratedRate.signum() <= 0 || toleratedRate.compareTo(BigDecimal.ONE) >= 0) {
      throw new IllegalArgumentException(
          "the tolerated rate lies between 0 and 1, was " + toleratedRate);
    }
    conditions = List.copyOf(conditions);
    exercises = List.copyOf(exercises);
  }
}
