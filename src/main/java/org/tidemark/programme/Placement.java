package org.tidemark.programme;

import java.util.List;
import java.util.Optional;

/**
 * One way into the programme from a baseline.
 *
 * @param stage the code of the stage that is entered; empty when the clinician must be asked
 *     instead
 * @param conditions all must hold
 */
public record Placement(Optional<String> stage, List<Condition> conditions) {
  public Placement {
    conditions = List.copyOf(conditions);
  }
}
