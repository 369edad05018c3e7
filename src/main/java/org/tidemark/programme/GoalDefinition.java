package org.tidemark.programme;

import java.util.List;
import java.util.Optional;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Value;

/**
 * What the programme works toward.
 *
 * @param code a name for the goal, unique in the programme
 * @param title what a person calls it
 * @param measure the code of the recorded item or progression variable that shows it
 * @param of whether the measure is of the body or of the prescribed setting
 * @param target the value to reach, if the programme fixes one
 * @param targetItem the baseline item that holds the person's own value to reach, if it is personal
 * @param targetModel the model that finds a personal value where that item is not known, if any
 * @param functional what everyday tasks ask for, in rising difficulty: the first that is beyond the
 *     person is the value to reach where neither is known
 * @param direction which way is better
 */
public record GoalDefinition(
    String code,
    String title,
    String measure,
    Kind of,
    Optional<Value> target,
    Optional<String> targetItem,
    Optional<String> targetModel,
    List<Task> functional,
    Direction direction) {
  public GoalDefinition {
    functional = List.copyOf(functional);
  }

  /**
   * An everyday task.
   *
   * @param needs what it asks of the measure
   * @param title what it is, in plain words
   */
  public record Task(Amount needs, String title) {}

  /** Where the measure is read. */
  public enum Kind {
    /** A measurement of the person. */
    BODY,
    /** A setting of the exercise in force. */
    SETTING
  }
}
