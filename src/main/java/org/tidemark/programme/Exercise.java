package org.tidemark.programme;

import java.util.List;
import java.util.Map;

/**
 * A variation as a stage uses it.
 *
 * @param variation the variation
 * @param role what it is to the stage
 * @param conditions all must hold for it to be chosen
 * @param start how the first value of a variable is found; a variable that is not named starts at
 *     its easiest
 * @param startDose index in the dose ladder that it starts with
 * @param progresses the codes of the variables that this stage makes harder, in order
 */
public record Exercise(
    Variation variation,
    Role role,
    List<Condition> conditions,
    Map<String, StartRule> start,
    int startDose,
    List<String> progresses) {

  /** What an exercise is to its stage. */
  public enum Role {
    /** The exercise that the stage turns on; exactly one is in force. */
    LEAD,
    /** Done beside the lead. */
    COMPANION,
    /** Added only by a plateau option or a clinician. */
    ACCESSORY
  }

  public Exercise {
    conditions = List.copyOf(conditions);
    start = Map.copyOf(start);
    progresses = List.copyOf(progresses);
  }

  /** The variables that this stage makes harder, in order. */
  public List<ProgressionVariable> progressing() {
    return progresses.stream().flatMap(code -> variation.variable(code).stream()).toList();
  }
}
